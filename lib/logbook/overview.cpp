// SPDX-License-Identifier: MIT
#include "logbook/overview.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"

#include <algorithm>
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

/// "/run/initramfs/fsck.log: tide: recovering journal".
std::string source_of(const Evidence& piece) {
    return safe(piece.where) + (piece.words.empty() ? "" : ": " + shortened(piece.words));
}

std::string why_left(const RunEnd& end) {
    if (!end.by) {
        return "but nobody said whether its file systems were left in order";
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

std::string orderly_words(const Run& run) {
    const std::optional<Duration> time = run.going_down();
    std::string text = "it ended in order";
    text += time ? ", " + seconds_text(*time) + " after going down began" : "";
    return text + (run.end.by ? " (" + source_of(*run.end.by) + ")" : "");
}

}  // namespace

Overview overview_of(std::span<const Run> runs) {
    Overview overview;
    overview.runs = runs.size();
    std::vector<Duration> times;
    for (const Run& run : runs) {
        if (run.end.end != End::running) {
            ++counter_of(overview, run.end.end);
        }
        if (run.ended && run.ended->summary) {
            overview.presses += run.ended->summary->presses;
            overview.near_misses += run.ended->summary->near_misses;
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
    if (!times.empty()) {
        const auto middle = times.begin() + static_cast<std::ptrdiff_t>((times.size() - 1) / 2);
        std::nth_element(times.begin(), middle, times.end());
        overview.median = *middle;
    }
    return overview;
}

std::string sentence_of(const Run& run) {
    const std::string wrote = "it wrote that it ends, ";
    switch (run.end.end) {
    case End::running:
        return "it goes on";
    case End::orderly:
        return orderly_words(run);
    case End::left:
        return wrote + why_left(run.end);
    case End::lost:
        return "it never wrote that it ends: the supply was lost, or it was reset, or it hung";
    case End::lost_last_words:
        return "it never wrote that it ends, and the kernel said last: " +
               (run.end.by ? source_of(*run.end.by) : "");
    case End::unknowable:
        return wrote + "and " + safe(run.end.file_system) + " does not tell what came then";
    case End::not_looked:
        return (run.ended ? wrote : "it has no end yet, ") + "and no later run has looked";
    }
    return "";
}

}  // namespace nightlatch::logbook
