// SPDX-License-Identifier: MIT
#include "property/model.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace nightlatch::model {
namespace {

using core::ActOn;
using core::Sample;
using core::Settings;
using namespace std::chrono_literals;

constexpr Duration least_unsettled = 1s;
constexpr Duration away_from_release = 500ms;
constexpr Duration calling_off = 100ms;

/// A level seen at an instant: by a sample, or by a Resync (a read before which nothing is known; a
/// void episode leaves one behind).
struct Mark {
    Instant at;
    Level level = Level::inactive;
    bool resync = false;
    Instant
        since{};  ///< from here the level is seen: `at`, but for a void, which reads nothing anew
};

/// Marks [begin, end) with no stable stretch between them. After a settled level: an episode.
struct Run {
    bool known = false;             ///< follows a settled level, not a Resync
    Instant first = never;          ///< stamp of its first sample; never if it has none
    Instant last{};                 ///< its last mark
    Level level = Level::inactive;  ///< of the last mark
    Instant settles = never;        ///< never if it does not within what was watched
    std::size_t begin = 0;
    std::size_t end = 0;
};

struct Span {
    Instant from;
    Instant to;
};

/// Away from a known released level: from the first sample after it until released is known again,
/// or the button was let go within drop-outs. What follows those is another one.
struct Excursion {
    Instant opened;
    Instant over = never;  ///< released settled, let go meanwhile, or void; never: not yet
    bool voided = false;
    bool follows = false;           ///< upon the one before, after its drop-outs
    bool stuck = false;             ///< and that was stuck
    Instant accepted = never;       ///< when pressed settled; never: a glitch, or not yet
    Instant begin = never;          ///< of the press, if it settled
    Instant end = never;            ///< of the press, if its release settled
    std::vector<Span> confirmed{};  ///< pressed, outside episodes; both ends belong to it
    std::size_t next = 0;           ///< the run in which it was over
};

struct Cut {
    std::vector<Mark> marks;
    std::vector<Run> runs;
};

Duration interval_of(Level level, const Settings& settings) {
    return level == Level::active ? settings.press_interval : settings.release_interval;
}

Duration longest_unsettled(const Settings& settings) {
    return std::max(least_unsettled,
                    4 * std::max(settings.press_interval, settings.release_interval));
}

/// When the level of mark `i` has been stable for its interval; never if it does not get there.
/// A deadline passes before a sample of the same instant.
Instant settling(const std::vector<Mark>& marks,
                 std::size_t i,
                 const Settings& settings,
                 Instant end) {
    const Instant due = marks[i].since + interval_of(marks[i].level, settings);
    const Instant until = i + 1 < marks.size() ? std::min(marks[i + 1].at, end) : end;
    return due <= until ? due : never;
}

std::vector<Run> runs_of(const std::vector<Mark>& marks, const Settings& settings, Instant end) {
    std::vector<Run> runs;
    runs.reserve(marks.size());
    for (std::size_t i = 0; i < marks.size(); ++i) {
        if (i == 0 || marks[i].resync || runs.back().settles != never) {
            runs.push_back({.known = !marks[i].resync, .begin = i});
        }
        Run& run = runs.back();
        if (!marks[i].resync) {
            run.first = std::min(run.first, marks[i].at);
        }
        run.last = marks[i].at;
        run.level = marks[i].level;
        run.end = i + 1;
        run.settles = settling(marks, i, settings, end);
    }
    return runs;
}

/// When the run has been unsettled for too long; never if it settled in time. Only what follows a
/// settled level is an episode: after a Resync there is nothing yet that could be void.
Instant void_of(const Run& run, const Settings& settings, Instant end) {
    if (!run.known) {
        return never;
    }
    const Instant limit = run.first + longest_unsettled(settings);
    return limit < run.settles && limit <= end ? limit : never;
}

/// A void episode is a Resync for what follows, and that is cut anew: so put those marks in,
/// earliest first, until no run is too long.
Cut cut(const Line& line, const Settings& settings) {
    Cut result;
    result.marks.reserve(line.samples.size() + 2);
    result.marks.push_back({line.start, line.level, true, line.start});
    for (const Sample& sample : line.samples) {
        result.marks.push_back({sample.stamp, sample.level, false, sample.stamp});
    }
    for (;;) {
        result.runs = runs_of(result.marks, settings, line.end);
        const auto too_long = [&](const Run& run) {
            const Instant at = void_of(run, settings, line.end);
            const bool ended_by_it = run.end < result.marks.size() &&
                                     result.marks[run.end].resync && result.marks[run.end].at == at;
            return at != never && !ended_by_it;
        };
        const auto run = std::find_if(result.runs.begin(), result.runs.end(), too_long);
        if (run == result.runs.end()) {
            return result;
        }
        const Instant at = void_of(*run, settings, line.end);
        const auto later =
            std::find_if(result.marks.begin() + static_cast<std::ptrdiff_t>(run->begin),
                         result.marks.end(),
                         [&](const Mark& mark) { return mark.at >= at; });
        const Mark last = *std::prev(later);
        result.marks.insert(later, {at, last.level, true, last.since});
    }
}

/// When a run that never settled was void; never if it is only not over yet.
Instant voided_at(const Cut& cut, const Run& run) {
    const bool voided = run.settles == never && run.end < cut.marks.size();
    return voided ? cut.marks[run.end].at : never;
}

/// What the line read released within a run that ends pressed, pressed before it: from each first
/// released mark to the next pressed one.
Duration dropped_in(const Cut& cut, const Run& run) {
    Duration dropped{};
    for (std::size_t from = run.begin; from < run.end; ++from) {
        if (cut.marks[from].level == Level::inactive) {
            std::size_t to = from;
            while (cut.marks[to].level == Level::inactive) {
                ++to;
            }
            dropped += cut.marks[to].at - cut.marks[from].at;
            from = to;
        }
    }
    return dropped;
}

/// The excursion that opens with run `i`: the line leaves a settled released level, or the button
/// is pressed again after drop-outs that have reached the release interval.
Excursion excursion_from(const Cut& cut, std::size_t i, Instant end, const Settings& settings) {
    const std::vector<Run>& runs = cut.runs;
    Excursion out{.opened = runs[i].first};
    const auto pressed = [&](std::size_t k) {
        return k < runs.size() && runs[k].known && runs[k].settles != never &&
               runs[k].level == Level::active;
    };
    if (pressed(i)) {
        out.accepted = runs[i].settles;
        out.begin = runs[i].last;
    }
    Duration dropped{};
    std::size_t k = i;
    for (; pressed(k); ++k) {
        const Duration more = k > i ? dropped_in(cut, runs[k]) : Duration::zero();
        dropped += more;
        if (more > Duration::zero() && dropped >= settings.release_interval) {
            out.over = runs[k].settles;
            out.next = k;
            return out;
        }
        const bool followed = k + 1 < runs.size();
        out.confirmed.push_back({runs[k].settles, followed ? runs[k + 1].first : end});
    }
    if (k == runs.size()) {
        return out;
    }
    if (runs[k].settles != never) {
        out.over = runs[k].settles;
        out.end = k > i ? runs[k].first : never;
    } else {
        out.over = voided_at(cut, runs[k]);
        out.voided = out.over != never;
    }
    return out;
}

Instant first_confirmed(const Excursion& press, Instant from) {
    const auto span = std::find_if(press.confirmed.begin(),
                                   press.confirmed.end(),
                                   [&](const Span& each) { return each.to >= from; });
    return span == press.confirmed.end() ? never : std::max(span->from, from);
}

/// Never, if it was not.
Instant stuck_at(const Settings& settings, const Excursion& press) {
    return first_confirmed(press, press.begin + settings.stuck_after);
}

std::vector<Excursion> excursions_of(const Cut& cut, Instant end, const Settings& settings) {
    std::vector<Excursion> excursions;
    for (std::size_t i = 1; i < cut.runs.size(); ++i) {
        const Run& before = cut.runs[i - 1];
        if (!cut.runs[i].known || before.settles == never || before.level == Level::active) {
            continue;
        }
        excursions.push_back(excursion_from(cut, i, end, settings));
        while (excursions.back().next != 0) {
            const Excursion& before_it = excursions.back();
            Excursion again = excursion_from(cut, before_it.next, end, settings);
            again.follows = true;
            again.stuck = before_it.stuck || stuck_at(settings, before_it) != never;
            excursions.push_back(std::move(again));
        }
    }
    return excursions;
}

struct Decision {
    Instant at = never;  ///< never: this press decides nothing
    std::uint32_t stage = 0;
    Duration held{};
};

Decision decision_of(const Settings& settings, const Excursion& press) {
    if (settings.act_on == ActOn::threshold) {
        const Duration needed = settings.stages.front().hold + settings.threshold_guard;
        return {first_confirmed(press, press.begin + needed), 0, needed};
    }
    if (press.end == never || press.end - press.begin >= settings.stuck_after) {
        return {};
    }
    const Duration held = press.end - press.begin;
    const auto reached = std::count_if(settings.stages.begin(),
                                       settings.stages.end(),
                                       [&](const auto& stage) { return stage.hold <= held; });
    return reached == 0 ? Decision{}
                        : Decision{press.over, static_cast<std::uint32_t>(reached) - 1, held};
}

struct Countdown {
    Instant begins;
    Instant released;  ///< the end of the press that decided (its decision, on the threshold)
    Instant ends;
};

/// One of the two, or neither within what was watched.
struct Ending {
    Instant asked = never;
    Instant called_off = never;
};

/// Whatever is under way when the countdown ends is waited for: an episode until it has settled
/// (only then is it known where its press began), a press that may call off until it has or has
/// not. What opens while that is waited for (a press after drop-outs) is under way, too.
Ending ending_of(const Cut& cut, const std::vector<Excursion>& all, const Countdown& down) {
    Instant asked = down.ends;
    Instant off = never;
    const auto during = [&](Instant opened) { return opened >= down.begins && opened < asked; };
    for (const Run& run : cut.runs) {
        if (run.known && during(run.first)) {
            off = std::min(off, voided_at(cut, run));
            asked = std::max(asked, run.settles);
        }
    }
    for (const Excursion& press : all) {
        const bool counts = press.accepted != never && !press.stuck &&
                            press.begin >= down.released + away_from_release;
        if (during(press.opened) && counts) {
            off = std::min(off, first_confirmed(press, press.begin + calling_off));
            off = std::min(off, press.voided ? press.over : never);
            asked = std::max(asked, press.over);
        }
    }
    return off <= asked ? Ending{never, off} : Ending{asked, never};
}

void note_no_request(const Settings& settings, const Excursion& press, Expected& expected) {
    const Instant stuck = stuck_at(settings, press);
    if (stuck != never) {
        expected.stuck.push_back(stuck);
    } else if (press.end != never) {
        expected.near_misses.push_back(press.over);
    }
}

}  // namespace

// One rule of the specification after the other, in its order.
// NOLINTNEXTLINE(readability-function-cognitive-complexity)
Expected expect(const core::Settings& settings, const Line& line, Reply reply) {
    const Cut pieces = cut(line, settings);
    const std::vector<Excursion> excursions = excursions_of(pieces, line.end, settings);
    Expected expected;
    Instant busy = Instant::min();  // presses accepted up to here belong to something else
    bool spent = false;             // and so is what follows upon its drop-outs
    for (const Excursion& press : excursions) {
        // What began to move at that very instant came after the deadline of that instant.
        const bool after = press.accepted > busy || press.opened >= busy;
        spent = (press.follows && spent) || !after;
        if (press.accepted == never || spent || press.stuck) {
            continue;
        }
        const Decision decision = decision_of(settings, press);
        if (decision.at == never) {
            note_no_request(settings, press, expected);
            continue;
        }
        spent = true;
        const bool only_told = settings.stages[decision.stage].action == core::Action::announce;
        Ending ending{decision.at, never};
        if (settings.grace > 0s && !only_told) {
            const Countdown down{decision.at, press.end, decision.at + settings.grace};
            ending = ending_of(pieces, excursions, down);
        }
        if (ending.called_off != never) {
            expected.call_offs.push_back(ending.called_off);
            busy = ending.called_off;
            continue;
        }
        if (ending.asked == never || ending.asked > line.end) {
            break;
        }
        expected.requests.push_back({ending.asked, decision.stage, decision.held});
        if (reply == Reply::silence && !only_told) {
            break;
        }
        busy = only_told ? busy : ending.asked;
    }
    return expected;
}

}  // namespace nightlatch::model
