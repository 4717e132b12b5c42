// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/time.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::wave {

/// What was seen of one button over a stretch of time, as pictures and waveform files need it. All
/// times are since the start, >= 0 and <= `end`, and every list is in order of time.

/// A lane's level from `at` on; nothing where it is not known (no chip, or not settled yet).
struct LevelChange {
    Duration at{};
    std::optional<Level> level;  ///< active: pressed

    bool operator==(const LevelChange&) const = default;
};

/// The cue from `at` on.
struct CueChange {
    Duration at{};
    std::string cue;      ///< "holding"
    std::string state;    ///< the same word, or the state that shows this cue: "asked"
    std::string stage{};  ///< of `ready`: the stage that letting go now means

    bool operator==(const CueChange&) const = default;
};

/// What a lamp or a buzzer does from `at` on.
struct LookChange {
    Duration at{};
    std::string look;  ///< as the configuration says it: "blink 4 Hz"
    Duration on{};     ///< it is on for so long; Duration::max(): for good
    Duration off{};    ///< then off; for so long, if it repeats
    bool repeats = false;

    bool operator==(const LookChange&) const = default;
};

/// A lamp or a buzzer. It is off before its first look.
struct Output {
    std::string name;   ///< "lid"
    std::string about;  ///< "lamp"; "line", which a buzzer may be on
    std::vector<LookChange> looks;

    bool operator==(const Output&) const = default;
};

enum class MarkKind : unsigned char {
    remark,    ///< of the script's author
    decision,  ///< what a press or alarm came to: a stage decided, a near miss, a call-off
    request,   ///< the system is asked
    answer,    ///< what the login manager says or does
    trouble,   ///< what a person would have to look after
    service,   ///< the service starts again, reads its configuration anew
    info,      ///< anything else
};

/// Something that happened in a moment.
struct Mark {
    Duration at{};
    MarkKind kind = MarkKind::info;
    std::string text;

    bool operator==(const Mark&) const = default;
};

/// A press from its begin to its end, as debounced; `end` is the timeline's for one that lasts.
struct Hold {
    Duration begin{};
    Duration end{};

    bool operator==(const Hold&) const = default;
};

/// A stage of the configuration, in ascending order of hold.
struct Threshold {
    std::string name;
    Duration hold{};
    std::string action;  ///< "power-off"

    bool operator==(const Threshold&) const = default;
};

struct Timeline {
    Duration end{};
    std::vector<LevelChange> raw;      ///< the line's own level, bounces and all; begins at 0
    std::vector<LevelChange> settled;  ///< as debounced; begins at 0
    std::vector<CueChange> cues;       ///< begins at 0
    std::vector<Hold> holds;
    std::vector<Threshold> thresholds;
    std::vector<Mark> marks;
    std::vector<Output> outputs{};  ///< in the configuration's order

    bool operator==(const Timeline&) const = default;
};

}  // namespace nightlatch::wave
