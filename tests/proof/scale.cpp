// SPDX-License-Identifier: MIT
#include "scale.hpp"

#include <memory>

namespace nightlatch::proof {

using namespace core;

namespace {

struct Term {
    const char* name;
    Duration real;
    Duration ticks;
};

/// As the core compares them: a deadline that is a sum of two against another one.
struct Compared {
    Term left;
    Term right;
};

int sign(Duration left, Duration right) {
    return left < right ? -1 : left > right ? 1 : 0;
}

void set_limits(Limits& limits, int longer_interval, int pause) {
    const auto t = [](int ticks) { return Duration(ticks); };
    limits.read_again = t(1);
    limits.guard = t(1);
    limits.contradiction_patience = t(longer_interval + 1);
    limits.sleeping_guard = t(longer_interval + 1);
    limits.call_off_hold = t(longer_interval + 2);
    limits.call_off_pause = t(pause);
    limits.first_back_off = t(pause + 1);
    limits.trial_patience = t(pause + 1);
    limits.trial_intervals = 2;
    // Never: storms have property tests.
    limits.busy_pause = Duration::zero();
    limits.changes = UINT32_MAX;
    limits.trial_changes = UINT32_MAX;
}

/// From 5 s up.
void set_long_limits(Settings& settings, int five_seconds) {
    const auto t = [](int ticks) { return Duration(ticks); };
    Limits& limits = settings.limits;
    limits.preparing_patience = t(five_seconds);
    limits.refusal_shown = t(five_seconds);
    limits.dry_shown = t(five_seconds);
    limits.unsettled = t(five_seconds + 1);
    const int half_minute = five_seconds + 2;
    settings.stuck_after = t(half_minute);
    limits.patience = t(half_minute);
    limits.unanswered_least = t(half_minute);
    limits.preparing_again = t(half_minute);
    const Duration minute = std::max(t(half_minute + 1), 2 * limits.first_back_off + t(1));
    limits.trial = minute;
    limits.longest_back_off = minute;
    limits.answer_patience = t(3 * half_minute + five_seconds + 1);
    limits.route_patience = limits.answer_patience + t(1);
    limits.longest_shutdown = limits.answer_patience + t(2);
}

std::vector<Term> constants(const Scaled& s) {
    const Settings& r = s.real;
    const Settings& t = s.ticks;
    const Limits& a = r.limits;
    const Limits& b = t.limits;
    std::vector<Term> all{
        {"read_again", a.read_again, b.read_again},
        {"guard", a.guard, b.guard},
        {"press interval", r.press_interval, t.press_interval},
        {"release interval", r.release_interval, t.release_interval},
        {"contradiction_patience", a.contradiction_patience, b.contradiction_patience},
        {"sleeping_guard", a.sleeping_guard, b.sleeping_guard},
        {"call_off_hold", a.call_off_hold, b.call_off_hold},
        {"call_off_pause", a.call_off_pause, b.call_off_pause},
        {"first_back_off", a.first_back_off, b.first_back_off},
        {"trial_patience", a.trial_patience, b.trial_patience},
        {"preparing_patience", a.preparing_patience, b.preparing_patience},
        {"refusal_shown", a.refusal_shown, b.refusal_shown},
        {"dry_shown", a.dry_shown, b.dry_shown},
        {"unsettled", a.unsettled, b.unsettled},
        {"stuck_after", r.stuck_after, t.stuck_after},
        {"patience", a.patience, b.patience},
        {"unanswered_least", a.unanswered_least, b.unanswered_least},
        {"preparing_again", a.preparing_again, b.preparing_again},
        {"trial", a.trial, b.trial},
        {"longest_back_off", a.longest_back_off, b.longest_back_off},
        {"answer_patience", a.answer_patience, b.answer_patience},
        {"route_patience", a.route_patience, b.route_patience},
        {"longest_shutdown", a.longest_shutdown, b.longest_shutdown},
    };
    for (std::size_t i = 0; i < r.stages.size(); ++i) {
        all.push_back({"hold", r.stages[i].hold, t.stages[i].hold});
    }
    if (r.grace > Duration::zero()) {
        all.push_back({"grace", r.grace, t.grace});
    }
    for (std::size_t i = 0; i < r.alarms.size(); ++i) {
        all.push_back({"lasting", r.alarms[i].lasting, t.alarms[i].lasting});
        all.push_back({"repeat", *r.alarms[i].repeat, *t.alarms[i].repeat});
    }
    return all;
}

/// Each side once for the real settings and once for the ticks.
std::vector<Compared> sums(const Scaled& s) {
    using Value = Duration (*)(const Settings&);
    const auto term = [&s](const char* name, Value value) {
        return Term{name, value(s.real), value(s.ticks)};
    };
    std::vector<Compared> all;
    const auto compare = [&](const char* left, Value l, const char* right, Value r) {
        all.push_back({term(left, l), term(right, r)});
    };
    const Value stuck = [](const Settings& x) { return x.stuck_after; };
    const Value answer = [](const Settings& x) { return x.limits.answer_patience; };
    compare(
        "last hold + guard",
        [](const Settings& x) {
            const bool threshold = x.act_on == ActOn::threshold;
            return x.stages.back().hold + (threshold ? x.threshold_guard : Duration::zero());
        },
        "stuck_after",
        stuck);
    compare(
        "trial_intervals x longer interval",
        [](const Settings& x) {
            return x.limits.trial_intervals * std::max(x.press_interval, x.release_interval);
        },
        "trial_patience",
        [](const Settings& x) { return x.limits.trial_patience; });
    compare(
        "2 x first_back_off",
        [](const Settings& x) { return 2 * x.limits.first_back_off; },
        "longest_back_off",
        [](const Settings& x) { return x.limits.longest_back_off; });
    compare(
        "patience + unanswered_least",
        [](const Settings& x) { return x.limits.patience + x.limits.unanswered_least; },
        "answer_patience",
        answer);
    compare(
        "2 x patience + preparing_patience + unanswered_least",
        [](const Settings& x) {
            return 2 * x.limits.patience + x.limits.preparing_patience + x.limits.unanswered_least;
        },
        "answer_patience",
        answer);
    if (s.real.grace > Duration::zero()) {
        compare(
            "call_off_pause + max(call_off_hold, press)",
            [](const Settings& x) {
                return x.limits.call_off_pause + std::max(x.limits.call_off_hold, x.press_interval);
            },
            "grace",
            [](const Settings& x) { return x.grace; });
        compare(
            "call_off_hold + release interval",
            [](const Settings& x) { return x.limits.call_off_hold + x.release_interval; },
            "call_off_pause",
            [](const Settings& x) { return x.limits.call_off_pause; });
    }
    return all;
}

}  // namespace

// One table of constants.
// NOLINTNEXTLINE(readability-function-size,readability-function-cognitive-complexity)
Scaled scaled(Intervals intervals, bool countdown, std::size_t stages, ActOn act_on, bool alarm) {
    const bool equal = intervals == Intervals::equal;
    const bool below = intervals == Intervals::press_below_release;
    Settings real;
    Settings ticks;
    real.press_interval = equal ? 30ms : below ? 20ms : 40ms;
    real.release_interval = equal ? 30ms : below ? 40ms : 20ms;
    ticks.press_interval = Duration(equal || below ? 2 : 3);
    ticks.release_interval = Duration(below ? 3 : 2);
    const int longest = equal ? 2 : 3;
    const int call_off_hold = longest + 2;
    const int pause = countdown ? call_off_hold + longest + 1 : call_off_hold + 1;
    set_limits(ticks.limits, longest, pause);
    real.act_on = ticks.act_on = act_on;
    ticks.threshold_guard = ticks.limits.guard;
    real.without_post_halt = ticks.without_post_halt = WithoutPostHalt::allow;
    int next = pause + 2;  // after 1 s
    for (std::size_t i = 0; i < stages; ++i) {
        real.stages.push_back({i == 0 ? "first" : "second", std::chrono::seconds(2 + i)});
        ticks.stages.push_back({i == 0 ? "first" : "second", Duration(next++)});
    }
    if (countdown) {
        real.grace = 5s;
        next = std::max(next, pause + call_off_hold + 1);
        ticks.grace = Duration(next);
    }
    set_long_limits(ticks, next);
    if (alarm) {
        Alarm watch{
            "battery low", Action::power_off, Inhibitors::respect, 10s, AtStart::ignore, 5min};
        real.alarms.push_back(watch);
        watch.lasting = ticks.limits.unsettled;
        watch.repeat = ticks.limits.route_patience;
        ticks.alarms.push_back(watch);
    }
    return {real, ticks};
}

Scaled without_trial(Scaled scaled) {
    scaled.real.limits.trial = scaled.ticks.limits.trial = Duration::zero();
    return scaled;
}

std::vector<std::string> not_kept(const Scaled& scaled) {
    std::vector<std::string> wrong;
    const auto check = [&wrong](const Term& left, const Term& right) {
        if (sign(left.real, right.real) != sign(left.ticks, right.ticks)) {
            wrong.push_back(std::string(left.name) + " against " + right.name);
        }
    };
    const std::vector<Term> all = constants(scaled);
    for (std::size_t i = 0; i < all.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j) {
            check(all[i], all[j]);
        }
    }
    for (const Compared& each : sums(scaled)) {
        check(each.left, each.right);
    }
    return wrong;
}

}  // namespace nightlatch::proof
