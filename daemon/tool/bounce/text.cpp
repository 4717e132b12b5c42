// SPDX-License-Identifier: MIT
#include "base/text.hpp"

#include "base/duration_text.hpp"
#include "config/words.hpp"
#include "core/storm.hpp"
#include "daemon/tool/bounce/bounce.hpp"
#include "daemon/tool/bounce/words.hpp"
#include "page/page.hpp"
#include "page/wrap.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

using bounce::BounceOutcome;
using bounce::BounceReport;
using bounce::BounceTally;
using bounce::Intervals;

using page::left;
using page::right;

std::string presses(std::size_t number) {
    return counted(number, "press", "presses");
}

// ---- the verdict

std::string pull_hint(const BounceTarget& target) {
    const bool pulled =
        target.bias == lines::Bias::pull_up || target.bias == lines::Bias::pull_down;
    if (target.captured) {
        return "Next: look at the probe and the line's resistor, and record again.";
    }
    return pulled ? "Next: look at the wiring; the line is pulled already."
                  : "Next: look at the wiring, or give the open line a level: --bias pull-up (a "
                    "button to ground) or --bias pull-down (a button to the supply).";
}

std::string floats_text(const BounceTarget& target, const BounceSeen& seen) {
    std::string text = target.name + " floats: ";
    if (seen.report.storm) {
        text += core::storm_text();
    } else {
        text += counted(seen.unasked, "edge", "edges") +
                " within 5 s with nobody pressing, and never at rest for one";
    }
    return text + ". " + pull_hint(target);
}

std::string at_rest_text(const BounceTarget& target) {
    return target.name + " reads " + level_word(target.pressed_low) +
           ", which is the pressed level, with nobody pressing. Next: if the button was let go, "
           "look at " +
           (target.config.empty() ? "--pressed" : "`pressed` in " + target.config) +
           ", then at the wiring" +
           (target.bias == lines::Bias::as_is ? "; an open line without a bias reads as anything."
                                              : ".");
}

std::string no_press_text(const BounceTarget& target, const BounceSeen& seen) {
    if (seen.report.back.times > 0) {
        return "Nothing measured on " + target.name + ": " + came_back(seen, target) +
               " Next: hold the button for about a second.";
    }
    if (target.captured) {
        return "No press in " + target.name +
               ": the level never changes. Next: record while the "
               "button is pressed, or name another --signal.";
    }
    return "No press on " + target.name +
           ". Next: check the wiring, or ask nightlatch lines "
           "--watch which line your button is on.";
}

std::string never_rests_text(const BounceTarget& target, const BounceSeen& seen) {
    const BounceReport& report = seen.report;
    const Duration longest =
        std::max({report.press.longest, report.release.longest, report.back.longest});
    return target.name + " does not come to rest as a button does: its edges went on for " +
           length_text(longest) + ", and no debounce of at most 1 s waits that out. " +
           pull_hint(target);
}

std::string measured_text(const BounceTarget& target, const BounceSeen& seen) {
    const BounceReport& report = seen.report;
    const auto length = [](const BounceTally& tally) {
        return tally.longest > Duration::zero() ? "up to " + length_text(tally.longest)
                                                : std::string("not at all");
    };
    if (report.press.longest + report.release.longest == Duration::zero()) {
        return target.name + " does not bounce (" +
               presses(std::max(report.press.times, report.release.times)) + ").";
    }
    std::string text = target.name + " bounces";
    if (report.press.times > 0) {
        text += " " + length(report.press) + " pressing";
    }
    if (report.release.times > 0) {
        text += std::string(report.press.times > 0 ? "," : "") + " " + length(report.release) +
                " letting go";
    }
    return text + " (" + presses(std::max(report.press.times, report.release.times)) + ").";
}

std::string too_short_text(const BounceTarget& target, const BounceSeen& seen) {
    return "The debounce in " + target.config + " is too short for this button. " +
           measured_text(target, seen) +
           " Next: put this into [button], then sudo nightlatch check:";
}

std::string fine_text(const BounceTarget& target, const BounceSeen& seen) {
    if (target.configured) {
        const auto advice = bounce::advise(seen.report);
        const bool roomy = advice && advice->press <= target.configured->press &&
                           advice->release <= target.configured->release;
        const std::string next = roomy ? "nothing to change; this would also work:"
                                       : "nothing has to change; with a margin it would be:";
        return "The debounce in " + target.config + " is long enough for this button. " +
               measured_text(target, seen) + " Next: " + next;
    }
    return measured_text(target, seen) +
           " Next: put this into [button] of your configuration, then nightlatch check:";
}

std::string few_seen(const BounceTarget& target, const BounceSeen& seen) {
    return presses(seen.report.whole()) + " of " + counted(target.wanted) + " seen";
}

std::string few_text(const BounceTarget& target, const BounceSeen& seen) {
    return "Only " + few_seen(target, seen) + ". " + measured_text(target, seen) +
           " Next: measure again before you rely on it; from what was seen:";
}

void add_verdict(page::Page& page, const BounceTarget& target, const BounceSeen& seen) {
    using page::Paint;
    if (seen.end == BounceEnd::pressed) {
        page.verdict(at_rest_text(target), "which is the pressed level", Paint::bad);
        return;
    }
    switch (verdict_of(target, seen)) {
    case BounceOutcome::floats:
        page.verdict(floats_text(target, seen), " floats:", Paint::bad);
        return;
    case BounceOutcome::no_press:
        page.verdict(no_press_text(target, seen),
                     seen.report.back.times > 0 ? "Nothing measured" : "No press",
                     Paint::bad);
        return;
    case BounceOutcome::never_rests:
        page.verdict(never_rests_text(target, seen), "does not come to rest", Paint::bad);
        return;
    case BounceOutcome::too_short:
        page.verdict(too_short_text(target, seen), "is too short", Paint::bad);
        return;
    case BounceOutcome::few:
        page.verdict(few_text(target, seen), "Only " + few_seen(target, seen), Paint::doubtful);
        return;
    case BounceOutcome::fine:
        break;
    }
    page.verdict(fine_text(target, seen), target.configured ? "is long enough" : "", Paint::good);
}

// ---- the figures

page::Row row_of(const std::string& name, const BounceTally& tally) {
    return {name,
            std::to_string(tally.times),
            std::to_string(tally.clean),
            std::to_string(tally.most_edges),
            length_text(tally.mean()),
            length_text(tally.longest),
            length_text(tally.longest_closed) + " / " + length_text(tally.longest_open)};
}

std::string figures(const BounceReport& report) {
    return page::table({{"", "times", "clean", "most", "mean", "longest", "longest pause"},
                        {"", "", "", "edges", "", "", "closed / open"},
                        row_of("pressing", report.press),
                        row_of("letting go", report.release)},
                       {.sides = "lr"});
}

std::string bucket_name(std::size_t bucket) {
    if (bucket == 0) {
        return "none";
    }
    return bucket <= BounceTally::bounds.size() ? "to " + to_text(BounceTally::bounds[bucket - 1])
                                                : "over " + to_text(BounceTally::bounds.back());
}

/// Stars to scale, at least one for a count that is not 0.
std::string bar(std::size_t count, std::size_t most, unsigned width) {
    const std::size_t length = most == 0 ? 0 : (count * width + most - 1) / most;
    return std::string(length, '#');
}

std::string histogram(const BounceReport& report) {
    constexpr unsigned width = 22;
    const auto& press = report.press.buckets;
    const auto& release = report.release.buckets;
    std::size_t first = press.size();
    std::size_t last = 0;
    std::size_t most = 0;
    for (std::size_t i = 0; i < press.size(); ++i) {
        if (press[i] + release[i] > 0) {
            first = std::min(first, i);
            last = i;
            most = std::max({most, press[i], release[i]});
        }
    }
    const auto digits = static_cast<unsigned>(std::to_string(most).size());
    std::string text = left("bounce", 14) + left("pressing", digits + width + 4) + "letting go\n";
    for (std::size_t i = first; i <= last && i < press.size(); ++i) {
        std::string line =
            left(bucket_name(i), 14) +
            left(right(std::to_string(press[i]), digits) + " " + bar(press[i], most, width),
                 digits + width + 4) +
            right(std::to_string(release[i]), digits) + " " + bar(release[i], most, width);
        line.erase(line.find_last_not_of(' ') + 1);
        text += line + "\n";
    }
    return text;
}

// ---- how the advice was come by

std::string how_text(const BounceTarget& target, const BounceSeen& seen, const Intervals& advice) {
    const Intervals pauses = bounce::pauses_to_outlast(seen.report);
    const std::size_t number = std::max(seen.report.press.times, seen.report.release.times);
    std::string text = "How: an interval has to outlast the pauses between the edges of a bounce, "
                       "here " +
                       length_text(pauses.press) + " for press and " + length_text(pauses.release) +
                       " for release. Twice that, rounded up to a customary value, at least " +
                       to_text(bounce::least_advice) + ", is " + to_text(advice.press) + " and " +
                       to_text(advice.release) + ". ";
    text += "About one later press in " + counted(number + 1) + " will bounce longer than " +
            (number == 1 ? "this one" : "the longest of these " + counted(number)) +
            ": that is what the factor is for.";
    if (number < 10) {
        text += target.captured ? " That is a small sample: record more presses."
                                : " That is a small sample: --presses 30 gives a better one.";
    }
    return text;
}

void add(page::Page& page, const std::string& words) {
    if (!words.empty()) {
        page.raw("\n");
        page.paragraph("", words, 0);
    }
}

}  // namespace

std::string bounce_text(const BounceTarget& target,
                        const BounceSeen& seen,
                        const page::Style& style) {
    const auto advice = bounce::advise(seen.report);
    page::Page page(style);
    add_verdict(page, target, seen);
    if (advice) {
        page.raw("\n" + debounce_line(*advice) + "\n");
    }
    add(page, assumption(target, seen));
    if (seen.report.press.times + seen.report.release.times > 0) {
        page.raw("\n" + figures(seen.report) + "\n" + histogram(seen.report));
    }
    for (const std::string& caution : cautions(target, seen)) {
        add(page, caution);
    }
    if (advice) {
        add(page, how_text(target, seen, *advice));
    }
    return page.str();
}

}  // namespace nightlatch::tool
