// SPDX-License-Identifier: MIT
// The GPIO adapter and the guard against a real kernel with simulated chips. As root:
//   gpio-board-check [PROGRAM]      PROGRAM: where nightlatch-wait-released is, to check that too
// Ends with 0 if every check held, 1 if one did not, 2 if nothing could be checked.
#include "daemon/gpio/button_line.hpp"
#include "daemon/gpio/output_line.hpp"
#include "daemon/guard/guard_file.hpp"
#include "daemon/sys/folder_watch.hpp"
#include "system/gpiosim/sim_chip.hpp"

#include <array>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <optional>
#include <vector>

#include <poll.h>
#include <sched.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

namespace nightlatch::test {
namespace {

using namespace std::chrono_literals;
using gpio::GpioButtonLine;
using lines::Bias;

int checks = 0;
int failures = 0;

void check(bool holds, const std::string& what) {
    ++checks;
    failures += holds ? 0 : 1;
    std::printf("%s %d %s\n", holds ? "ok" : "FAILED", checks, what.c_str());
    std::fflush(stdout);
}

bool says(const Error& error, const std::string& part) {
    const bool found = error.text.find(part) != std::string::npos;
    if (!found) {
        std::printf("# says instead: %s\n", error.text.c_str());
    }
    return found;
}

template <class T>
bool is(const Result<T>& result, Trouble trouble) {
    return !result && result.error().trouble == trouble;
}

Instant now() {
    timespec time{};
    clock_gettime(CLOCK_MONOTONIC, &time);
    return Instant(std::chrono::seconds(time.tv_sec) + std::chrono::nanoseconds(time.tv_nsec));
}

short wait_for(int fd, Duration limit) {
    pollfd state{fd, POLLIN, 0};
    const auto ms = std::chrono::ceil<std::chrono::milliseconds>(limit).count();
    return poll(&state, 1, static_cast<int>(ms)) == 1 ? state.revents : short{0};
}

ports::LineRequest request(const std::string& chip, const std::string& line, Bias bias) {
    return {{chip, line}, bias, false};
}

/// The edges that come until `count` are there, or none for a second.
std::vector<ports::LineEvent> collect(GpioButtonLine& line, std::size_t count) {
    std::vector<ports::LineEvent> all;
    std::array<ports::LineEvent, 64> some{};
    while (all.size() < count && (wait_for(line.fd(), 1s) & POLLIN) != 0) {
        const Result<std::size_t> got = line.drain(some);
        if (!got) {
            break;
        }
        all.insert(all.end(), some.begin(), some.begin() + static_cast<long>(*got));
    }
    return all;
}

bool unbroken(const std::vector<ports::LineEvent>& events) {
    for (std::size_t i = 1; i < events.size(); ++i) {
        if (events[i].seqno != events[i - 1].seqno + 1 || events[i].stamp < events[i - 1].stamp) {
            return false;
        }
    }
    return !events.empty();
}

void check_names() {
    const SimChip chip(
        "front", "front-gpio", {{"", ""}, {"BUTTON", ""}, {"DOOR", ""}, {"DOOR", ""}});
    GpioButtonLine line;
    for (const std::string& name :
         {std::string("front-gpio"), chip.name(), "/dev/" + chip.name()}) {
        const auto facts = line.open(request(name, "BUTTON", Bias::as_is));
        check(facts && facts->chip_name == chip.name() && facts->offset == 1 &&
                  facts->chip == chip.name() + " [front-gpio]" && facts->name == "BUTTON",
              "a line is had through its chip's " + name);
    }
    check(line.open(request("front-gpio", "0", Bias::as_is)).has_value(),
          "a line without a name is had by its offset");
    const auto twice = line.open(request("front-gpio", "DOOR", Bias::as_is));
    check(is(twice, Trouble::ambiguous) && says(twice.error(), "2, 3"),
          "two lines of one name are ambiguous");
    check(is(line.open(request("front-gpio", "4", Bias::as_is)), Trouble::no_line),
          "an offset beyond the chip is not a line");
    const auto nowhere = line.open(request("no-such-gpio", "0", Bias::as_is));
    check(is(nowhere, Trouble::no_chip) &&
              says(nowhere.error(), chip.name() + " [front-gpio] (4 lines)"),
          "a chip that is not there is answered with those that are");
    const SimChip second("second", "front-gpio", {{"", ""}});
    const auto either = line.open(request("front-gpio", "0", Bias::as_is));
    check(is(either, Trouble::ambiguous) && says(either.error(), chip.name() + " [front-gpio]") &&
              says(either.error(), second.name() + " [front-gpio]"),
          "two chips of one label are ambiguous");
}

void check_holders() {
    const SimChip chip("held", "held-gpio", {{"HOGGED", "door-sensor"}, {"FREE", ""}});
    GpioButtonLine line;
    const auto hogged = line.open(request("held-gpio", "HOGGED", Bias::as_is));
    check(is(hogged, Trouble::busy) && says(hogged.error(), "\"door-sensor\""),
          "a line that the kernel holds names its holder");
    GpioButtonLine first;
    check(first.open(request("held-gpio", "FREE", Bias::as_is)).has_value(), "a free line is had");
    const auto ours = line.open(request("held-gpio", "FREE", Bias::as_is));
    check(is(ours, Trouble::busy) && says(ours.error(), "\"nightlatch\""),
          "a line that a program holds names it");
    first.close();
    check(line.open(request("held-gpio", "FREE", Bias::as_is)).has_value(),
          "a line that was let go is free again");
}

void check_denial() {
    const SimChip chip("denied", "denied-gpio", {{"", ""}});
    std::fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        constexpr uid_t nobody = 65534;
        if (setgid(nobody) != 0 || setuid(nobody) != 0) {
            _exit(3);
        }
        GpioButtonLine line;
        const auto opened = line.open(request("denied-gpio", "0", Bias::as_is));
        _exit(is(opened, Trouble::denied) && says(opened.error(), "no permission for /dev/") ? 0
                                                                                             : 1);
    }
    int status = -1;
    waitpid(child, &status, 0);
    check(status == 0, "a chip that may not be opened is told from one that is not there");
}

void check_levels(bool active_low) {
    const std::string polarity = active_low ? "active low: " : "active high: ";
    const SimChip chip("levels", "levels-gpio", {{"BUTTON", ""}});
    chip.pull(0, active_low);
    GpioButtonLine line;
    check(line.open({{"levels-gpio", "BUTTON"}, Bias::as_is, active_low}).has_value(),
          polarity + "opened");
    std::array<ports::LineEvent, 4> none{};
    const auto nothing = line.drain(none);
    check(nothing && *nothing == 0, polarity + "draining an idle line gives nothing, at once");
    const auto rest = line.level();
    check(rest && *rest == Level::inactive, polarity + "at rest the level is inactive");

    const Instant before = now();
    chip.pull(0, !active_low);
    const auto press = collect(line, 1);
    const auto pressed = line.level();
    chip.pull(0, active_low);
    const auto release = collect(line, 1);
    const Instant after = now();
    check(press.size() == 1 && press[0].level == Level::active && press[0].seqno == 1,
          polarity + "a press is one edge to active, number 1");
    check(pressed && *pressed == Level::active, polarity + "pressed, the level is active");
    check(release.size() == 1 && release[0].level == Level::inactive && release[0].seqno == 2,
          polarity + "a release is one edge to inactive, number 2");
    check(press.size() == 1 && release.size() == 1 && before <= press[0].stamp &&
              press[0].stamp <= release[0].stamp && release[0].stamp <= after,
          polarity + "stamps are CLOCK_MONOTONIC");
}

void check_bias() {
    const SimChip chip("bias", "bias-gpio", {{"BUTTON", ""}});
    GpioButtonLine line;
    for (const bool up : {true, false}) {
        chip.pull(0, !up);
        const auto opened =
            line.open(request("bias-gpio", "BUTTON", up ? Bias::pull_up : Bias::pull_down));
        const std::string wanted = up ? "pull-up" : "pull-down";
        const auto level = line.level();
        check(opened && chip.pulled(0) == wanted, "a " + wanted + " reaches the chip");
        check(level && (*level == Level::active) == up, "a " + wanted + " is what the line reads");
    }
    const auto as_is = line.open(request("bias-gpio", "BUTTON", Bias::as_is));
    check(as_is && chip.pulled(0) == "pull-down", "as-is leaves the bias alone");
}

/// The simulator joins edges that follow each other before its interrupt thread has run; a pause
/// after each lets it run, so that most become an event.
void toggle(const SimChip& chip, int edges) {
    constexpr timespec pause{0, 20'000};
    for (int i = 1; i <= edges; ++i) {
        chip.pull(0, i % 2 == 1);
        nanosleep(&pause, nullptr);
    }
}

void check_storm() {
    constexpr int edges = 6'000;
    const SimChip chip("storm", "storm-gpio", {{"BUTTON", ""}});
    GpioButtonLine line;
    check(line.open(request("storm-gpio", "BUTTON", Bias::as_is)).has_value(), "storm: opened");
    const pid_t child = fork();
    if (child == 0) {
        toggle(chip, edges);
        _exit(0);
    }
    const auto events = collect(line, edges);
    waitpid(child, nullptr, 0);
    const auto level = line.level();
    const std::chrono::duration<double> took =
        events.empty() ? 1s : events.back().stamp - events.front().stamp;
    std::printf("# storm: %zu events of %d edges, %.0f events a second\n",
                events.size(),
                edges,
                static_cast<double>(events.size()) / took.count());
    check(events.size() > 1024, "storm: more events than the buffer holds, so some could be lost");
    check(!events.empty() && events.front().seqno == 1 && unbroken(events),
          "a storm is taken without a gap");
    check(!events.empty() && level && events.back().level == *level,
          "after a storm the last sample is the level");
}

/// On one processor the kernel's real-time thread that queues the events runs before we can make
/// the next edge. On two, a busy host stops one of the emulated ones and edges merge.
void beside_the_event_thread() {
    cpu_set_t first;
    CPU_ZERO(&first);
    CPU_SET(0, &first);
    bool found = false;
    for (const auto& entry : std::filesystem::directory_iterator("/proc")) {
        std::string name;
        std::getline(std::ifstream(entry.path() / "comm"), name);
        if (name.starts_with("irq/") && name.ends_with("-nightlatch")) {
            const pid_t thread = std::atoi(entry.path().filename().c_str());
            found |= sched_setaffinity(thread, sizeof first, &first) == 0;
        }
    }
    check(found && sched_setaffinity(0, sizeof first, &first) == 0, "one processor for all");
}

void check_overflow() {
    constexpr int edges = 4'000;
    const SimChip chip("flood", "flood-gpio", {{"BUTTON", ""}});
    GpioButtonLine line;
    check(line.open(request("flood-gpio", "BUTTON", Bias::as_is)).has_value(), "overflow: opened");
    beside_the_event_thread();
    toggle(chip, edges);
    const auto events = collect(line, edges);
    std::printf("# overflow: %zu events kept, the first is number %llu\n",
                events.size(),
                events.empty() ? 0ULL : static_cast<unsigned long long>(events.front().seqno));
    check(events.size() >= 1024 && events.front().seqno > 1 && unbroken(events),
          "an overflow of the 1,024 loses the oldest only, and the first number tells");
}

void check_vanishing() {
    auto devices = sys::FolderWatch::open("/dev", "gpiochip", sys::FolderWatch::News::entries);
    check(devices.has_value(), "chips are watched");
    SimChip chip("plugged", "plugged-gpio", {{"BUTTON", ""}});
    check((wait_for(devices->fd(), 5s) & POLLIN) != 0 && devices->changed(), "a new chip is news");
    GpioButtonLine line;
    check(line.open(request("plugged-gpio", "BUTTON", Bias::as_is)).has_value(), "it is opened");
    const std::string first_name = chip.name();
    chip.vanish();
    check((wait_for(line.fd(), 5s) & (POLLHUP | POLLERR)) != 0, "its vanishing hangs the line up");
    std::array<ports::LineEvent, 4> events{};
    check(is(line.drain(events), Trouble::gone), "draining it says gone");
    check(is(line.level(), Trouble::gone), "reading it says gone");
    check((wait_for(devices->fd(), 5s) & POLLIN) != 0 && devices->changed(), "a lost chip is news");
    check(is(line.open(request("plugged-gpio", "BUTTON", Bias::as_is)), Trouble::no_chip),
          "opened anew it is not there");
    const SimChip other("squatter", "other-gpio", {{"BUTTON", ""}});
    chip.appear();
    check((wait_for(devices->fd(), 5s) & POLLIN) != 0 && devices->changed(), "its return is news");
    const auto again = line.open(request("plugged-gpio", "BUTTON", Bias::as_is));
    std::printf("# %s came back as %s, %s took its place\n",
                first_name.c_str(),
                chip.name().c_str(),
                other.name().c_str());
    check(again && again->chip_name == chip.name() && chip.name() != first_name,
          "it is found again by its label, under its new number");
    chip.pull(0, true);
    const auto press = collect(line, 1);
    check(press.size() == 1 && press[0].seqno == 1, "and its edges come");
}

void check_output() {
    const SimChip chip("cue", "cue-gpio", {{"BUZZER", ""}});
    gpio::OutputLine line;
    for (const bool active_low : {false, true}) {
        const std::string polarity = active_low ? "active low: " : "active high: ";
        check(line.open({"cue-gpio", "BUZZER"}, active_low).has_value(),
              polarity + "an output is had");
        check(chip.driven_high(0) == active_low, polarity + "it starts driven inactive");
        check(line.set(Level::active) && chip.driven_high(0) != active_low,
              polarity + "it is driven active");
        check(line.set(Level::inactive) && chip.driven_high(0) == active_low,
              polarity + "it is driven inactive again");
        line.close();
    }
}

/// The guard as systemd-shutdown runs it, and how long it took.
class GuardRun {
public:
    GuardRun(const std::string& program, const char* verb) : start_(now()) {
        std::fflush(stdout);
        child_ = fork();
        if (child_ == 0) {
            execl(program.c_str(), program.c_str(), verb, static_cast<char*>(nullptr));
            _exit(127);
        }
        // By number: the C library of Debian 12 has the call, older headers do not.
        pidfd_ = static_cast<int>(syscall(SYS_pidfd_open, child_, 0));
    }

    GuardRun(const GuardRun&) = delete;
    GuardRun& operator=(const GuardRun&) = delete;

    ~GuardRun() {
        if (!status_) {
            kill(child_, SIGKILL);
            waitpid(child_, nullptr, 0);
        }
        close(pidfd_);
    }

    bool ended_within(Duration limit) {
        if (wait_for(pidfd_, limit) == 0) {
            return false;
        }
        took_ = now() - start_;
        int status = -1;
        waitpid(child_, &status, 0);
        status_ = status;
        return true;
    }

    [[nodiscard]] bool well() const { return status_ == 0; }

    [[nodiscard]] Duration took() const { return took_; }

private:
    Instant start_;
    pid_t child_ = -1;
    int pidfd_ = -1;
    std::optional<int> status_;
    Duration took_{};
};

void check_guard_waits(const std::string& program, const SimChip& chip) {
    chip.pull(0, true);
    {
        GuardRun run(program, "poweroff");
        check(run.ended_within(2s) && run.well() && run.took() >= 160ms,
              "guard: a released button is waited for one interval long");
    }
    chip.pull(0, false);
    {
        GuardRun run(program, "reboot");
        check(run.ended_within(2s) && run.well(), "guard: a reboot does not wait");
    }
    GuardRun run(program, "poweroff");
    check(!run.ended_within(700ms), "guard: a held button is waited for");
    for (int i = 0; i < 5; ++i) {
        chip.pull(0, true);
        check(!run.ended_within(50ms), "guard: a bounce is not a release");
        chip.pull(0, false);
    }
    chip.pull(0, true);
    const Instant let_go = now();
    check(run.ended_within(2s) && run.well() && now() - let_go >= 160ms,
          "guard: the button let go ends the wait, one interval later");
}

void check_guard(const std::string& program) {
    const std::string path = "/run/nightlatch/guard";
    mkdir("/run/nightlatch", 0755);
    check(access(path.c_str(), F_OK) != 0, "guard: the service is not running beside this check");
    {
        GuardRun run(program, "poweroff");
        check(run.ended_within(2s) && run.well(), "guard: without its file it ends at once");
    }
    SimChip chip("guarded", "guarded-gpio", {{"BUTTON", ""}});
    const guard::GuardFile file{chip.name(), 0, true, Bias::as_is, 160ms};
    check(guard::write_guard_file(path, file).has_value(), "guard: the file is written");
    check_guard_waits(program, chip);
    chip.pull(0, false);
    {
        GuardRun run(program, "poweroff");
        const bool ended = run.ended_within(25s);
        std::printf("# guard: a stuck button held up the power-off for %.3f s\n",
                    std::chrono::duration<double>(run.took()).count());
        check(ended && run.well() && run.took() >= 19s && run.took() <= 20s,
              "guard: a stuck button is given up within 20 s");
    }
    {
        GuardRun run(program, "poweroff");
        check(!run.ended_within(200ms), "guard: waiting");
        chip.vanish();
        check(run.ended_within(2s) && run.well(), "guard: a chip that vanishes ends the wait");
    }
    GuardRun run(program, "poweroff");
    check(run.ended_within(2s) && run.well(), "guard: a chip that is not there is not waited for");
    guard::remove_guard_file(path);
}

}  // namespace
}  // namespace nightlatch::test

int main(int argc, char** argv) {
    using namespace nightlatch::test;
    if (!SimChip::possible()) {
        std::printf(
            "gpio-board-check: nothing checked: needs root, a kernel with CONFIG_GPIO_SIM, and "
            "configfs at /sys/kernel/config\n");
        return 2;
    }
    check_names();
    check_holders();
    check_denial();
    check_levels(false);
    check_levels(true);
    check_bias();
    check_storm();
    check_overflow();
    check_vanishing();
    check_output();
    if (argc == 2) {
        check_guard(argv[1]);
    }
    std::printf("gpio-board-check: %d checks, %d failed%s\n",
                checks,
                failures,
                argc == 2 ? "" : "; the guard was not checked");
    return failures == 0 ? 0 : 1;
}
