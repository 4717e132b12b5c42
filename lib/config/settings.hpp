// SPDX-License-Identifier: MIT
#pragma once

#include "config/diagnostic.hpp"
#include "core/looks.hpp"
#include "core/settings.hpp"
#include "lines/chip.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace nightlatch::config {

struct Button {
    lines::LineName where;
    bool active_low = true;  ///< pressed = "low"
    lines::Bias bias = lines::Bias::as_is;

    bool operator==(const Button&) const = default;
};

/// Where an alarm's level is read; what it means is in core::Alarm.
struct AlarmLine {
    lines::LineName where;
    bool active_low = true;  ///< active = "low"
    lines::Bias bias = lines::Bias::as_is;

    bool operator==(const AlarmLine&) const = default;
};

/// What the person's circuit expects; what is not stated cannot be judged.
struct PostHalt {
    std::optional<lines::LineName> where;
    std::optional<bool> active_low;
    std::optional<Duration> pulse;  ///< the circuit needs the line active, unbroken, this long

    bool operator==(const PostHalt&) const = default;
};

/// An LED of the kernel's LED class, by its name under /sys/class/leds.
struct LedName {
    std::string name;

    bool operator==(const LedName&) const = default;
};

struct FeedbackLine {
    lines::LineName where;
    bool active_low = false;

    bool operator==(const FeedbackLine&) const = default;
};

struct Feedback {
    std::variant<LedName, FeedbackLine> output;
    core::Looks looks;

    bool operator==(const Feedback&) const = default;
};

/// One key of [circuit] as it stands there: what the values mean is lib/circuit's to say.
struct CircuitText {
    /// Letters, digits, underscores and hyphens; of [circuit.hold_up] with `hold_up_prefix`.
    std::string key;
    std::string text;  ///< without control characters
    Place place;       ///< of the value

    /// Where it stands is no part of what it says.
    bool operator==(const CircuitText& other) const {
        return key == other.key && text == other.text;
    }
};

constexpr std::string_view hold_up_prefix = "hold_up.";

/// [circuit]: the supply circuit's parts, which the service has no use for.
struct CircuitSection {
    Place place;  ///< of the header
    std::vector<CircuitText> texts;
    std::optional<Place> hold_up;  ///< of the header of [circuit.hold_up], where it is there

    bool operator==(const CircuitSection& other) const { return texts == other.texts; }
};

/// [logbook]: where the record of the runs is, for whoever writes or reads it; not the service.
struct LogbookSettings {
    /// Absolute, in a folder that is not /, without empty parts, . or ..
    std::string path = "/var/lib/nightlatch/logbook.jsonl";
    std::size_t keep = 400;  ///< runs at least; 1 to 10000

    bool operator==(const LogbookSettings&) const = default;
};

/// A whole, checked configuration.
struct Settings {
    Button button;
    core::Settings core;
    std::vector<AlarmLine> alarm_lines;  ///< one for each of core.alarms
    PostHalt post_halt;
    std::vector<Feedback> feedback;
    LogbookSettings logbook;
    std::optional<CircuitSection> circuit;

    bool operator==(const Settings&) const = default;
};

}  // namespace nightlatch::config
