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

constexpr Duration away_from_release = 500ms;
constexpr Duration calling_off = 100ms;

/// A level seen at an instant: by a sample, or read when the line was opened (the first).
struct Mark {
    Instant at;
    Level level = Level::inactive;
};

/// Marks [begin, end) with no stable stretch between them. After a settled level: an episode.
struct Run {
    bool known = false;             ///< follows a settled level: an episode
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
    Instant over = never;           ///< released settled, or let go meanwhile; never: not yet
    bool follows = false;           ///< upon the one before, after its drop-outs
    bool stuck = false;             ///< and that was stuck
    Instant accepted = never;       ///< when pressed settled; never: a glitch, or not yet
    Instant begin = never;          ///< of the press, if it settled
    Instant end = never;            ///< of the press, if its release settled
    std::vector<Span> confirmed{};  ///< pressed, outside episodes; both ends belong to it
    std::size_t next = 0;           ///< the run in which it was over
};

/// The line while it was open.
struct Piece {
    std::vector<Mark> marks;
    std::vector<Run> runs;
    Instant end;  ///< let go, or not watched any more
    bool let_go = false;
    bool takes_back = false;  ///< what is decided at the very end is void, too
};

Duration interval_of(Level level, const Settings& settings) {
    return level == Level::active ? settings.press_interval : settings.release_interval;
}

/// When the level of mark `i` has been stable for its interval; never if it does not get there.
/// A deadline passes before a sample of the same instant.
Instant settling(const Piece& piece, std::size_t i, const Settings& settings) {
    const auto& marks = piece.marks;
    const Instant due = marks[i].at + interval_of(marks[i].level, settings);
    const Instant until = i + 1 < marks.size() ? std::min(marks[i + 1].at, piece.end) : piece.end;
    return due <= until ? due : never;
}

void cut_into_runs(Piece& piece, const Settings& settings) {
    const auto& marks = piece.marks;
    std::vector<Run>& runs = piece.runs;
    runs.clear();
    runs.reserve(marks.size());
    for (std::size_t i = 0; i < marks.size(); ++i) {
        if (i == 0 || runs.back().settles != never) {
            runs.push_back({.known = i > 0, .begin = i});
        }
        Run& run = runs.back();
        if (i > 0) {
            run.first = std::min(run.first, marks[i].at);
        }
        run.last = marks[i].at;
        run.level = marks[i].level;
        run.end = i + 1;
        run.settles = settling(piece, i, settings);
    }
}

// --- a line that cannot be read

/// How much is put up with: less on trial, after the line was opened again.
struct Patience {
    Instant trial_ends;  ///< in the past without one
    Duration long_interval;
    const core::Limits& limits;

    [[nodiscard]] bool on_trial(Instant at) const { return at < trial_ends; }

    [[nodiscard]] Duration on_trial() const {
        return std::max(limits.trial_patience, 4 * long_interval);
    }

    [[nodiscard]] Duration at(Instant instant, Duration usual) const {
        return on_trial(instant) ? on_trial() : usual;
    }
};

/// Neither level has settled for so long; never if one did in time.
Instant unsettled_too_long(const Piece& piece, const Patience& patience) {
    for (const Run& run : piece.runs) {
        const Instant since = run.known ? run.first : piece.marks[run.begin].at;
        const Instant early = since + patience.on_trial();
        const Instant limit = patience.on_trial(early) ? early : since + patience.limits.unsettled;
        if (limit < run.settles && limit <= piece.end) {
            return limit;
        }
    }
    return never;
}

/// The run whose change of the settled level is one too many; null if none is.
const Run* changed_too_often(const Piece& piece, const Patience& patience) {
    std::vector<Instant> changes;
    for (std::size_t k = 1; k < piece.runs.size(); ++k) {
        const Run& run = piece.runs[k];
        if (run.settles == never || run.level == piece.runs[k - 1].level) {
            continue;
        }
        changes.push_back(run.settles);
        const bool trial = patience.on_trial(run.settles);
        const std::size_t allowed = trial ? patience.limits.trial_changes : patience.limits.changes;
        const Duration within = patience.at(run.settles, patience.limits.changes_within);
        if (changes.size() > allowed &&
            run.settles - changes[changes.size() - 1 - allowed] < within) {
            return &run;
        }
    }
    return nullptr;
}

/// The mark by which the line has been busy for too long; the count of all if none.
std::size_t busy_too_long(const Piece& piece, const Patience& patience) {
    Instant since = never;
    for (std::size_t i = 1; i < piece.marks.size(); ++i) {
        const Instant at = piece.marks[i].at;
        if (i == 1 || at - piece.marks[i - 1].at >= patience.limits.busy_pause) {
            since = at;
        }
        if (at - since >= patience.at(at, patience.limits.busy)) {
            return i;
        }
    }
    return piece.marks.size();
}

/// Ends the piece where the line cannot be read any more, if it does.
void cut_where_unreadable(Piece& piece, const Patience& patience, const Settings& settings) {
    cut_into_runs(piece, settings);
    const Instant unsettled = unsettled_too_long(piece, patience);
    const Run* const change = changed_too_often(piece, patience);
    const Instant changed = change != nullptr ? change->settles : never;
    const std::size_t busy = busy_too_long(piece, patience);
    const Instant busy_at = busy < piece.marks.size() ? piece.marks[busy].at : never;
    const Instant at = std::min({unsettled, changed, busy_at});
    if (at > piece.end || at == never) {
        return;
    }
    piece.end = at;
    piece.let_go = true;
    piece.takes_back = at == changed;
    // A timer passes before a sample of the same instant.
    std::size_t kept = at == changed ? change->end : busy + 1;
    if (at == unsettled) {
        const auto later = std::find_if(piece.marks.begin() + 1,
                                        piece.marks.end(),
                                        [at](const Mark& mark) { return mark.at >= at; });
        kept = static_cast<std::size_t>(later - piece.marks.begin());
    }
    piece.marks.resize(kept);
    cut_into_runs(piece, settings);
}

// --- presses

/// What the line read released within a run that ends pressed, pressed before it: from each first
/// released mark to the next pressed one.
Duration dropped_in(const Piece& cut, const Run& run) {
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
Excursion excursion_from(const Piece& cut, std::size_t i, Instant end, const Settings& settings) {
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

std::vector<Excursion> excursions_of(const Piece& cut, Instant end, const Settings& settings) {
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

/// From when on the press calls the countdown off, if it is confirmed pressed then.
Instant calls_off_from(const Excursion& press, const Countdown& down) {
    return std::max(down.released + away_from_release, press.begin + calling_off);
}

/// Whatever is under way when the countdown ends is waited for: an episode until it has settled
/// (only then is it known where its press began), a press until it has called off or is over. What
/// opens while that is waited for (a press after drop-outs) is under way, too.
Ending ending_of(const Piece& cut, const std::vector<Excursion>& all, const Countdown& down) {
    Instant asked = down.ends;
    Instant off = never;
    const auto during = [&](Instant opened) { return opened >= down.begins && opened < asked; };
    for (const Run& run : cut.runs) {
        if (run.known && during(run.first)) {
            asked = std::max(asked, run.settles);
        }
    }
    for (const Excursion& press : all) {
        if (during(press.opened) && press.accepted != never) {
            off = std::min(off, first_confirmed(press, calls_off_from(press, down)));
            asked = std::max(asked, press.over);
        }
    }
    if (off <= asked && off != never) {
        return {never, off};
    }
    const bool in_time = asked < cut.end || (asked == cut.end && !cut.takes_back);
    if (cut.let_go && !in_time) {
        return {never, cut.end};
    }
    return {asked, never};
}

void note_no_request(const Settings& settings, const Excursion& press, Expected& expected) {
    const Instant stuck = stuck_at(settings, press);
    if (stuck != never) {
        expected.stuck.push_back(stuck);
    } else if (press.end != never) {
        expected.near_misses.push_back(press.over);
    }
}

/// What lasts longer than one stretch of an open line.
struct Ongoing {
    Expected expected;
    Instant busy = Instant::min();  ///< presses accepted up to here belong to something else
    bool over = false;              ///< a request that nobody answers
};

// One rule of the specification after the other, in its order.
// NOLINTNEXTLINE(readability-function-cognitive-complexity)
void judge(const Piece& piece, const Settings& settings, Reply reply, Ongoing& so_far) {
    const std::vector<Excursion> excursions = excursions_of(piece, piece.end, settings);
    bool spent = false;  // and so is what follows upon its drop-outs
    for (const Excursion& press : excursions) {
        // What began to move at that very instant came after the deadline of that instant.
        const bool after = press.accepted > so_far.busy || press.opened >= so_far.busy;
        spent = (press.follows && spent) || !after;
        if (press.accepted == never || spent || press.stuck) {
            continue;
        }
        const Decision decision = decision_of(settings, press);
        if (decision.at == never) {
            note_no_request(settings, press, so_far.expected);
            continue;
        }
        spent = true;
        const bool only_told = settings.stages[decision.stage].action == core::Action::announce;
        Ending ending{decision.at, never};
        if (settings.grace > 0s && !only_told) {
            const Countdown down{decision.at, press.end, decision.at + settings.grace};
            ending = ending_of(piece, excursions, down);
        }
        if (ending.called_off != never) {
            so_far.expected.call_offs.push_back(ending.called_off);
            so_far.busy = ending.called_off;
            continue;
        }
        const bool taken_back = piece.takes_back && ending.asked == piece.end;
        if (ending.asked == never || ending.asked > piece.end || taken_back) {
            return;
        }
        so_far.expected.requests.push_back({ending.asked, decision.stage, decision.held});
        if (reply == Reply::silence && !only_told) {
            so_far.over = true;
            return;
        }
        so_far.busy = only_told ? so_far.busy : ending.asked;
    }
}

/// What the line shows from `from` on.
Piece piece_from(const Line& line, Instant from) {
    Piece piece{.marks = {{from, line.level}}, .runs = {}, .end = line.end};
    piece.marks.reserve(line.samples.size() + 1);
    for (const Sample& sample : line.samples) {
        if (sample.stamp < from) {
            piece.marks.front().level = sample.level;
        } else {
            piece.marks.push_back({sample.stamp, sample.level});
        }
    }
    return piece;
}

}  // namespace

Expected expect(const core::Settings& settings, const Line& line, Reply reply) {
    const core::Limits& limits = settings.limits;
    const Duration longer = std::max(settings.press_interval, settings.release_interval);
    Ongoing so_far;
    Duration back_off{};
    Instant opened = line.start;
    for (;;) {
        Piece piece = piece_from(line, opened);
        const Instant trusted = opened + limits.trial;
        const bool again = back_off > Duration::zero();
        cut_where_unreadable(piece, {again ? trusted : Instant::min(), longer, limits}, settings);
        if (!so_far.over) {
            judge(piece, settings, reply, so_far);
        }
        if (!piece.let_go) {
            return so_far.expected;
        }
        const bool news = !again || piece.end >= trusted;
        so_far.expected.unreadable.push_back({piece.end, news});
        back_off = news ? limits.first_back_off : std::min(2 * back_off, limits.longest_back_off);
        opened = piece.end + back_off;
        if (opened > line.end) {
            return so_far.expected;
        }
    }
}

}  // namespace nightlatch::model
