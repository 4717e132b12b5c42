// SPDX-License-Identifier: MIT
#include "logbook/overview.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <map>
#include <vector>

namespace nightlatch::logbook {
namespace {

std::size_t& counter_of(Overview& overview, End end) {
    switch (end) {
    case End::orderly:
        return overview.orderly;
    case End::left:
        return overview.left;
    case End::lost:
    case End::lost_last_words:
        return overview.lost;
    case End::running:
    case End::unknowable:
    case End::not_looked:
        break;
    }
    return overview.unknown;
}

/// Stays in a count's range.
void add_up(std::uint64_t some, std::uint64_t& to) {
    to = std::min(to + std::min(some, most_number), most_number);
}

/// "/run/initramfs/fsck.log: tide: recovering journal".
std::string source_of(const Evidence& piece) {
    return safe(piece.where) + (piece.words.empty() ? "" : ": " + shortened(piece.words));
}

std::string why_left(const RunEnd& end) {
    if (!end.by) {
        return "but nothing says whether its file systems were left in order";
    }
    const Evidence& piece = *end.by;
    if (piece.by == Looker::pstore) {
        return "but then the kernel gave up (" + source_of(piece) + ")";
    }
    if (piece.saw == Saw::recovery) {
        return "but " + safe(piece.of) + " had to be recovered (" + source_of(piece) + ")";
    }
    return "but whether " + safe(piece.of) + " was left in order could not be read (" +
           source_of(piece) + ")";
}

/// Common practice, no source: nobody presses so soon again by accident.
constexpr Duration soon = std::chrono::seconds(10);

/// By unit.
using Slowest = std::map<std::string, HeldUp>;

void add(Slowest& slowest, const Stopping& stopping) {
    if (stopping.slowest.empty()) {
        return;
    }
    HeldUp& one = slowest[stopping.slowest];
    one.unit = stopping.slowest;
    ++one.runs;
    one.longest = std::max(one.longest, stopping.took);
}

std::optional<HeldUp> most_of(const Slowest& slowest) {
    const auto most =
        std::max_element(slowest.begin(), slowest.end(), [](const auto& one, const auto& other) {
            return std::pair(one.second.runs, one.second.longest) <
                   std::pair(other.second.runs, other.second.longest);
        });
    return most == slowest.end() ? std::nullopt : std::optional(most->second);
}

std::string names_of(const std::vector<std::string>& units) {
    std::string text;
    for (const std::string& unit : units) {
        text += (text.empty() ? "" : ", ") + safe(unit);
    }
    return text;
}

/// What a driver says of why the processor started: it may explain a run that was lost.
std::string reset_words(const Run& run) {
    return run.reset_cause.empty() ? "" : " (" + safe(run.reset_cause) + ")";
}

std::string orderly_words(const Run& run) {
    const std::optional<Duration> time = run.going_down();
    std::string text = "it shut down in order";
    text += time ? ", in " + seconds_text(*time) : "";
    return text + (run.end.by ? " (" + source_of(*run.end.by) + ")" : "");
}

}  // namespace

Overview overview_of(std::span<const Run> runs) {
    Overview overview;
    overview.runs = runs.size();
    std::vector<Duration> times;
    Slowest slowest;
    for (const Run& run : runs) {
        if (run.end.end != End::running) {
            ++counter_of(overview, run.end.end);
        }
        if (run.ended && run.ended->summary) {
            add_up(run.ended->summary->presses, overview.presses);
            add_up(run.ended->summary->near_misses, overview.near_misses);
        }
        if (run.stopping) {
            ++overview.journals;
            add(slowest, *run.stopping);
        }
        const std::optional<Duration> time = run.going_down();
        if (!time) {
            continue;
        }
        times.push_back(*time);
        if (!overview.longest || overview.longest->time < *time) {
            overview.longest = GoingDown{*time, run.id.number};
        }
    }
    overview.most = most_of(slowest);
    if (!times.empty()) {
        const auto middle = times.begin() + static_cast<std::ptrdiff_t>((times.size() - 1) / 2);
        std::nth_element(times.begin(), middle, times.end());
        overview.median = *middle;
    }
    return overview;
}

std::string sentence_of(const Run& run) {
    const std::string wrote = "it recorded its end, ";
    switch (run.end.end) {
    case End::running:
        return "it is running";
    case End::orderly:
        return orderly_words(run);
    case End::left:
        return wrote + why_left(run.end);
    case End::lost:
        return "it recorded no end: power was lost, or it was reset, or it hung" + reset_words(run);
    case End::lost_last_words:
        return "it recorded no end; the kernel's last words: " +
               (run.end.by ? source_of(*run.end.by) : "");
    case End::unknowable:
        return wrote + "and " + safe(run.end.file_system) + " does not tell what happened then";
    case End::not_looked:
        return (run.ended ? wrote : "it has recorded no end, ") + "and no later run has checked";
    }
    return "";
}

std::string why_slow(const Run& run) {
    if (!run.stopping) {
        return "";
    }
    const Stopping& stopping = *run.stopping;
    std::string text;
    if (!stopping.slowest.empty()) {
        text = safe(stopping.slowest) + " took longest to stop, " + seconds_text(stopping.took);
    }
    if (!stopping.timed_out.empty()) {
        text += (text.empty() ? "" : "; ") + names_of(stopping.timed_out) +
                " did not stop in time and had to be killed";
    }
    if (!run.ended && !stopping.unfinished.empty()) {
        text +=
            (text.empty() ? "" : "; ") + names_of(stopping.unfinished) + " had been told to stop";
    }
    if (!run.ended && !stopping.reached.empty()) {
        text +=
            (text.empty() ? "" : "; ") + std::string("it got as far as ") + safe(stopping.reached);
    }
    return text;
}

bool came_back_soon(const Run& run) {
    return run.off && *run.off < soon && run.ended && run.ended->target == "poweroff";
}

}  // namespace nightlatch::logbook
