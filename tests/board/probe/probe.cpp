// SPDX-License-Identifier: MIT
// Shows on a real kernel, with a simulated chip flat out, what the GPIO character device does with
// edges that nobody reads in time. Prints one `name=value` a line; judging is the harness's work.
//
//   board-probe flood CHIP PULL BUFFER EDGES     one edge after the other, none read before the
// last
//   board-probe storm CHIP PULL BUFFER SECONDS STALL_MS   as fast as it goes, read beside it, with
//                                                a pause of STALL_MS after each reading
//   board-probe merge CHIP PULL PAIRS            pairs of edges while the kernel's thread is held
// off
//   board-probe drive PULL SECONDS CONSUMER      edges as fast as it goes, for CONSUMER who watches
//   board-probe train PULL CONSUMER PAUSE_US...  an edge, and one more after each pause, with the
//                                                CLOCK_MONOTONIC before and after each of them
//
// All of it runs on one of the guest's processors, with the kernel's thread that samples the line
// and queues the events: a real-time thread, it runs before the next edge can be made. So nothing
// here depends on how busy the host is, which may stop one emulated processor while the other goes
// on.
//
// Line 0 of CHIP is watched, PULL is its `pull` attribute. Kernel documentation:
// userspace-api/gpio/gpio-v2-line-event-read.rst and admin-guide/gpio/gpio-sim.rst.
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <string>
#include <thread>
#include <vector>

#include <fcntl.h>
#include <gpiod.hpp>
#include <sched.h>
#include <sys/types.h>
#include <unistd.h>

namespace {

using Millis = std::chrono::milliseconds;
constexpr Millis quiet{200};  // nothing more comes after this
constexpr unsigned line = 0;
constexpr const char* us = "board-probe";

// The wire: every turn of it is one edge.
class Wire {
public:
    explicit Wire(const std::string& path) : file_{::open(path.c_str(), O_WRONLY | O_CLOEXEC)} {
        if (file_ < 0)
            throw std::runtime_error("cannot open " + path);
    }

    Wire(const Wire&) = delete;
    Wire& operator=(const Wire&) = delete;

    ~Wire() { ::close(file_); }

    void turn() {
        high_ = !high_;
        const std::string_view pull = high_ ? "pull-up" : "pull-down";
        if (::pwrite(file_, pull.data(), pull.size(), 0) < 0)
            throw std::runtime_error("pull");
    }

private:
    int file_;
    bool high_ = false;
};

// What was read of a line's events.
struct Tally {
    unsigned long read = 0, first = 0, last = 0, lost = 0, equal = 0, backwards = 0;
    gpiod::edge_event::event_type type{};
    std::uint64_t stamp = 0;

    void take(const gpiod::edge_event& event) {
        const auto number = event.line_seqno();
        if (read == 0)
            first = number;
        lost += number - last - 1;
        if (read > 0 && number == last + 1 && event.type() == type)
            ++equal;
        if (event.timestamp_ns() < gpiod::timestamp{stamp})
            ++backwards;
        stamp = event.timestamp_ns();
        type = event.type();
        last = number;
        ++read;
    }

    void print() const {
        std::cout << "read=" << read << "\nfirst=" << first << "\nlast=" << last
                  << "\nlost=" << lost << "\nequal=" << equal << "\nbackwards=" << backwards
                  << '\n';
    }
};

void pin_to_first_cpu(pid_t thread) {
    cpu_set_t first;
    CPU_ZERO(&first);
    CPU_SET(0, &first);
    if (::sched_setaffinity(thread, sizeof first, &first) != 0)
        throw std::runtime_error("affinity");
}

// Brings the kernel's thread that samples the line and queues the events, `irq/NN-CONSUMER`, to
// our processor; false when CONSUMER has none.
bool fetch_event_thread(std::string_view consumer) {
    bool found = false;
    for (const auto& entry : std::filesystem::directory_iterator("/proc")) {
        std::string name;
        std::getline(std::ifstream(entry.path() / "comm"), name);
        if (name.starts_with("irq/") && name.ends_with("-" + std::string(consumer))) {
            pin_to_first_cpu(static_cast<pid_t>(std::stol(entry.path().filename().string())));
            found = true;
        }
    }
    return found;
}

gpiod::line_request watch(const std::string& chip, std::size_t buffer) {
    auto builder = gpiod::chip(chip).prepare_request();
    builder.set_consumer(us);
    if (buffer > 0)
        builder.set_event_buffer_size(buffer);  // else the kernel's default
    auto request = builder
                       .add_line_settings(line,
                                          gpiod::line_settings()
                                              .set_direction(gpiod::line::direction::INPUT)
                                              .set_edge_detection(gpiod::line::edge::BOTH))
                       .do_request();
    pin_to_first_cpu(0);
    if (!fetch_event_thread(us))
        throw std::runtime_error("no interrupt thread of this request");
    return request;
}

// Reads what there is; false when nothing came for `patience`.
bool drain(gpiod::line_request& request, Tally& tally, Millis patience) {
    gpiod::edge_event_buffer events(64);
    if (!request.wait_edge_events(patience))
        return false;
    request.read_edge_events(events);
    for (const auto& event : events)
        tally.take(event);
    return true;
}

void flood(gpiod::line_request& request, Wire& wire, long edges) {
    for (long n = 0; n < edges; ++n)
        wire.turn();
    Tally tally;
    while (drain(request, tally, quiet)) {
    }
    std::cout << "made=" << edges << '\n';
    tally.print();
}

// Returns how many edges were made.
long flat_out(Wire& wire, Millis length) {
    long made = 0;
    const auto end = std::chrono::steady_clock::now() + length;
    for (; std::chrono::steady_clock::now() < end; ++made)
        wire.turn();
    return made;
}

void print_made(long made, std::chrono::seconds length) {
    std::cout << "made=" << made << "\nper_second=" << made / length.count() << '\n';
}

// A storm for CONSUMER, who may let go of the line and come back with another thread.
void drive(Wire& wire, std::chrono::seconds length, const std::string& consumer) {
    pin_to_first_cpu(0);
    const auto end = std::chrono::steady_clock::now() + length;
    long made = 0;
    while (std::chrono::steady_clock::now() < end) {
        fetch_event_thread(consumer);
        made += flat_out(wire, Millis(250));
    }
    print_made(made, length);
}

std::int64_t monotonic_ns() {
    return std::chrono::nanoseconds(std::chrono::steady_clock::now().time_since_epoch()).count();
}

// A bounce of known pauses. The kernel's stamp of an edge is between the two times around it.
void train(Wire& wire, const std::string& consumer, const std::vector<std::string>& pauses) {
    pin_to_first_cpu(0);
    if (!fetch_event_thread(consumer))
        throw std::runtime_error("no interrupt thread of " + consumer);
    for (std::size_t n = 0; n <= pauses.size(); ++n) {
        if (n > 0)
            std::this_thread::sleep_for(std::chrono::microseconds(std::stol(pauses[n - 1])));
        const auto before = monotonic_ns();
        wire.turn();
        std::cout << "before" << n << '=' << before << "\nafter" << n << '=' << monotonic_ns()
                  << '\n';
    }
}

void storm(gpiod::line_request& request, Wire& wire, std::chrono::seconds length, Millis stall) {
    long made = 0;
    std::thread maker([&] { made = flat_out(wire, length); });
    Tally tally;
    while (drain(request, tally, quiet)) {
        while (drain(request, tally, Millis{0})) {
        }
        std::this_thread::sleep_for(stall);
    }
    maker.join();
    print_made(made, length);
    tally.print();
}

// With the kernel's thread below us, two turns of the wire are one waking of it.
void merge(gpiod::line_request& request, Wire& wire, long pairs) {
    const sched_param above{.sched_priority = 90};
    if (::sched_setscheduler(0, SCHED_FIFO, &above) != 0)
        throw std::runtime_error("scheduler");
    Tally tally;
    for (long n = 0; n < pairs; ++n) {
        wire.turn();
        wire.turn();
        if (!drain(request, tally, std::chrono::seconds(10)))
            throw std::runtime_error("no event");
    }
    while (drain(request, tally, quiet)) {
    }
    std::cout << "made=" << 2 * pairs << '\n';
    tally.print();
}

int run(const std::vector<std::string>& words) {
    const auto number = [&](std::size_t at) { return std::stol(words.at(at)); };
    const auto& what = words.at(1);
    if (what == "drive") {
        Wire wire(words.at(2));
        drive(wire, std::chrono::seconds(number(3)), words.at(4));
        return 0;
    }
    if (what == "train") {
        Wire wire(words.at(2));
        train(wire, words.at(3), {words.begin() + 4, words.end()});
        return 0;
    }
    const bool sized = what != "merge";
    auto request = watch(words.at(2), sized ? static_cast<std::size_t>(number(4)) : 1024);
    Wire wire(words.at(3));
    if (what == "flood") {
        flood(request, wire, number(5));
    } else if (what == "storm") {
        storm(request, wire, std::chrono::seconds(number(5)), Millis(number(6)));
    } else {
        merge(request, wire, number(4));
    }
    return 0;
}

}  // namespace

int main(int count, char** words) {
    try {
        return run({words, words + count});
    } catch (const std::exception& error) {
        std::cerr << "board-probe: " << error.what() << '\n';
        return 2;
    }
}
