// SPDX-License-Identifier: MIT
#include "daemon/cues/led_plan.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::cues {

namespace {

// For a steady LED any time but 0 would do; a blinker in hardware gets one that it can do.
constexpr unsigned long steady_ms = 500;

unsigned long milliseconds_of(Duration duration) {
    const auto ms = std::chrono::round<std::chrono::milliseconds>(duration).count();
    return static_cast<unsigned long>(std::max<decltype(ms)>(ms, 1));
}

std::vector<FileText> level_writes(const LedWay& way, Level level) {
    const bool on = level == Level::active;
    if (way.drive == Drive::kernel) {
        return on ? delay_writes(steady_ms, 0) : delay_writes(0, steady_ms);
    }
    return {{"brightness", std::to_string(on ? way.lit : 0)}};
}

}  // namespace

std::vector<FileText> delay_writes(unsigned long on_ms, unsigned long off_ms) {
    NIGHTLATCH_ENSURE(on_ms != 0 || off_ms != 0);
    std::vector<FileText> writes{{"delay_on", std::to_string(on_ms)},
                                 {"delay_off", std::to_string(off_ms)}};
    if (on_ms == 0) {
        std::swap(writes[0], writes[1]);
    }
    return writes;
}

LedPlan plan_of(const LedWay& way, const core::Pattern& pattern, Instant since, Instant now) {
    if (way.drive == Drive::kernel && pattern.kind == core::PatternKind::blink) {
        return {delay_writes(milliseconds_of(pattern.on), milliseconds_of(pattern.off)), never};
    }
    const core::PatternStep step = core::step_of(pattern, since, now);
    return {level_writes(way, step.level), step.until};
}

void read_triggers(std::string_view text, LedFound& found) {
    constexpr std::string_view blanks = " \n";
    while (true) {
        const auto start = text.find_first_not_of(blanks);
        if (start == std::string_view::npos) {
            return;
        }
        text.remove_prefix(start);
        std::string_view name = text.substr(0, text.find_first_of(blanks));
        text.remove_prefix(name.size());
        if (name.size() > 2 && name.front() == '[' && name.back() == ']') {
            name = name.substr(1, name.size() - 2);
            found.trigger = name;
        }
        found.timer_offered = found.timer_offered || name == "timer";
    }
}

std::vector<FileText> restoring(const LedFound& found, Drive drive) {
    std::vector<FileText> writes;
    if (found.trigger == "timer" && drive == Drive::kernel) {
        if (found.delay_on != 0 || found.delay_off != 0) {
            writes = delay_writes(found.delay_on, found.delay_off);
        }
        return writes;
    }
    if (!found.trigger.empty()) {
        writes.push_back({"trigger", found.trigger});
    }
    if (found.trigger.empty() || found.trigger == "none") {
        writes.push_back({"brightness", std::to_string(found.brightness)});
    }
    return writes;
}

}  // namespace nightlatch::cues
