// SPDX-License-Identifier: MIT
// What the comparison with sigrok-cli runs (sigrok_test.py):
//   wave_dump write SEED STEP STEPS    a random timeline as a dump; STEP in nanoseconds
//   wave_dump samples SEED STEP STEPS  the same timeline sampled every STEP, a line a signal
//   wave_dump read vcd|csv SIGNAL...   standard input's captures: name, a line an edge, the end
#include "support/random_timeline.hpp"
#include "wave/csv_reader.hpp"
#include "wave/vcd_reader.hpp"
#include "wave/vcd_writer.hpp"

#include <charconv>
#include <iostream>
#include <iterator>
#include <set>
#include <string>
#include <string_view>

using namespace nightlatch;
using namespace nightlatch::wave;

namespace {

std::uint64_t number(std::string_view text) {
    std::uint64_t value = 0;
    std::from_chars(text.data(), text.data() + text.size(), value);
    return value;
}

struct Wanted {
    std::uint64_t seed = 0;
    Duration step{};
    std::uint64_t steps = 0;
};

Timeline timeline_of(const Wanted& wanted) {
    test::Dice dice(wanted.seed);
    return test::random_timeline(dice, wanted.step, wanted.steps);
}

/// The last one at or before a time.
template <class Change>
const Change& current(const std::vector<Change>& changes, Duration at) {
    const Change* found = &changes.front();
    for (const Change& change : changes) {
        found = change.at <= at ? &change : found;
    }
    return *found;
}

template <class Bit>
void print_samples(std::string_view name, const Timeline& timeline, Duration step, Bit bit) {
    std::cout << name << ':';
    for (Duration at{}; at < timeline.end; at += step) {
        std::cout << (bit(at) ? '1' : '0');
    }
    std::cout << '\n';
}

/// sigrok knows no unknown level: it takes x for 0 [libsigrok 0.5.2, src/input/vcd.c].
void print_all_samples(const Wanted& wanted) {
    const Timeline timeline = timeline_of(wanted);
    print_samples("button", timeline, wanted.step, [&](Duration at) {
        return current(timeline.raw, at).level == Level::active;
    });
    print_samples("settled", timeline, wanted.step, [&](Duration at) {
        return current(timeline.settled, at).level == Level::active;
    });
    std::set<std::string> cues;
    for (const CueChange& change : timeline.cues) {
        cues.insert(change.cue);
    }
    for (const std::string& cue : cues) {
        print_samples("cue_" + cue, timeline, wanted.step, [&](Duration at) {
            return current(timeline.cues, at).cue == cue;
        });
    }
}

/// False when there is none.
bool print_capture(std::string_view format, std::string_view text, std::string_view signal) {
    const CaptureRead read = format == "vcd" ? read_vcd(text, signal) : read_csv(text, signal);
    for (const Problem& problem : read.problems) {
        std::cerr << problem.line << ':' << problem.column << ": " << problem.text << '\n';
    }
    if (!read.capture) {
        return false;
    }
    std::cout << signal << "\n0 " << (read.capture->at_start == Level::active) << '\n';
    for (const CapturedEdge& edge : read.capture->edges) {
        std::cout << edge.at.count() << ' ' << (edge.level == Level::active) << '\n';
    }
    std::cout << read.capture->end.count() << " end\n";
    return true;
}

int print_captures(const std::vector<std::string_view>& words) {
    const std::string text{std::istreambuf_iterator<char>(std::cin), {}};
    bool all = true;
    for (std::size_t i = 2; i < words.size(); ++i) {
        all = print_capture(words[1], text, words[i]) && all;
    }
    return all ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
    const std::vector<std::string_view> words(argv + 1, argv + argc);
    if (words.size() >= 3 && words[0] == "read") {
        return print_captures(words);
    }
    if (words.size() != 4) {
        std::cerr
            << "usage: wave_dump write|samples SEED STEP STEPS, wave_dump read FORMAT NAME...\n";
        return 2;
    }
    const Wanted wanted{
        number(words[1]), Duration(static_cast<Duration::rep>(number(words[2]))), number(words[3])};
    if (words[0] == "write") {
        std::cout << write_vcd(timeline_of(wanted));
    } else {
        print_all_samples(wanted);
    }
    return 0;
}
