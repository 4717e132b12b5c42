// SPDX-License-Identifier: MIT
#include "daemon/tool/bounce/words.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

using bounce::BounceReport;
using bounce::Intervals;

std::string times(std::size_t number) {
    return number == 1 ? "once" : std::to_string(number) + " times";
}

std::string interval_text(const char* name, Duration value) {
    return "the " + std::string(name) + " interval of " + to_text(value);
}

/// What the person would meet, one sentence for each kind of pause that settles too early.
void add_consequences(std::vector<std::string>& said,
                      const Intervals& configured,
                      const BounceReport& report) {
    const auto add =
        [&said](const char* doing, Duration pause, const std::string& limit, const char* so) {
            said.push_back(std::string(doing) + " for " + length_text(pause) +
                           " between two bounces, and " + limit + " does not outlast that: " + so);
        };
    const std::string press = interval_text("press", configured.press);
    const std::string release = interval_text("release", configured.release);
    if (report.press.longest_closed >= configured.press) {
        add("Pressing, the contact stays closed",
            report.press.longest_closed,
            press,
            "the press is taken to begin before the contact is at rest.");
    }
    if (report.press.longest_open >= configured.release) {
        add("Pressing, the contact opens",
            report.press.longest_open,
            release,
            "the press begins anew, and the hold counts from there.");
    }
    if (report.release.longest_open >= configured.release) {
        add("Letting go, the contact stays open",
            report.release.longest_open,
            release,
            "the release is taken early, and what closes after it can be one more press.");
    }
    if (report.release.longest_closed >= configured.press) {
        add("Letting go, the contact closes again",
            report.release.longest_closed,
            press,
            "the release is taken late, and the hold comes out longer than it was or begins anew.");
    }
}

std::string trial_text(const BounceTarget& target, const BounceSeen& seen) {
    const bounce::BounceTrial& trial = *seen.trial;
    const std::size_t presses = seen.report.press.times;
    if (trial.presses() == presses && trial.voided() == 0) {
        return "";
    }
    std::string text =
        "Through the debounce in " + target.config +
        (presses == 1 ? " this 1 press comes out as "
                      : " these " + std::to_string(presses) + " presses come out as ") +
        std::to_string(trial.presses());
    if (trial.voided() > 0) {
        text +=
            ", and " + times(trial.voided()) + " the line would not settle and the press is void";
    }
    return text + ".";
}

void add_trial(std::vector<std::string>& said, const BounceTarget& target, const BounceSeen& seen) {
    if (!target.configured) {
        return;
    }
    add_consequences(said, *target.configured, seen.report);
    if (seen.trial) {
        said.push_back(trial_text(target, seen));
    }
}

/// What makes the figures less sure.
void add_doubts(std::vector<std::string>& said,
                const BounceTarget& target,
                const BounceSeen& seen) {
    const BounceReport& report = seen.report;
    said.push_back(came_back(seen, target));
    if (seen.unasked > 0 && seen.end != BounceEnd::floats) {
        said.push_back("The line had " + std::to_string(seen.unasked) +
                       (seen.unasked == 1 ? " edge" : " edges") +
                       " before you were asked to press. If nobody touched the button, it is "
                       "disturbed, or a bias is missing.");
    }
    if (report.cut_short && seen.end == BounceEnd::recorded) {
        said.push_back("The recording ends " + length_text(*report.cut_short) +
                       " after the last edge: a bounce that went on is not in it.");
    }
    if (report.merged > 0) {
        said.push_back("The kernel merged edges " + times(report.merged) +
                       ": there were shorter pauses than can be told apart here.");
    }
    if (report.lost > 0) {
        said.push_back("The kernel dropped " + std::to_string(report.lost) +
                       " edges that came too fast to be read: pauses may be shorter than said.");
    }
    if (target.sleeps) {
        said.push_back("The chip is behind a slow bus: edges come late and fast ones are not seen, "
                       "so the button may bounce more than this.");
    }
}

std::string too_long_for_stage(const BounceTarget& target, const BounceSeen& seen) {
    const auto advice = bounce::advise(seen.report);
    if (!advice || !target.shortest_hold || advice->press < *target.shortest_hold) {
        return "";
    }
    return "The shortest hold in " + target.config + " is " + to_text(*target.shortest_hold) +
           ", not longer than the press interval: lengthen it too.";
}

}  // namespace

std::string length_text(Duration length) {
    if (length < 1us) {
        return length == Duration::zero() ? "0" : std::to_string(length.count()) + " ns";
    }
    if (length < 1ms) {
        return std::to_string(std::chrono::round<std::chrono::microseconds>(length).count()) +
               " us";
    }
    return seconds_text(length);
}

std::string level_word(bool low) {
    return low ? "low" : "high";
}

std::string debounce_line(const Intervals& intervals) {
    return "debounce = { press = " + in_quotes(to_text(intervals.press)) +
           ", release = " + in_quotes(to_text(intervals.release)) + " }";
}

std::string assumption(const BounceTarget& target, const BounceSeen& seen) {
    const bool measured = seen.report.press.times + seen.report.release.times > 0;
    if (target.pressed_told || seen.end != BounceEnd::recorded || !measured) {
        return "";
    }
    const std::string rest = level_word(!target.pressed_low);
    return "Pressed is taken to be " + level_word(target.pressed_low) +
           ", as the capture begins and ends " + rest +
           "; if the button was held at both ends, say --pressed " + rest + ".";
}

std::string came_back(const BounceSeen& seen, const BounceTarget& target) {
    const bounce::BounceTally& back = seen.report.back;
    if (back.times == 0) {
        return "";
    }
    return "The level came back " + times(back.times) + " within " + to_text(target.quiet) +
           " (after " + length_text(back.longest) +
           " at most): a tap too quick to measure, or a disturbance. Not counted.";
}

std::vector<std::string> cautions(const BounceTarget& target, const BounceSeen& seen) {
    std::vector<std::string> said;
    add_trial(said, target, seen);
    add_doubts(said, target, seen);
    said.push_back(too_long_for_stage(target, seen));
    said.insert(said.end(), seen.remarks.begin(), seen.remarks.end());
    std::erase(said, "");
    return said;
}

}  // namespace nightlatch::tool
