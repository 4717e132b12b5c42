// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "core/cue.hpp"
#include "core/settings.hpp"
#include "lines/chip.hpp"
#include "supervisor/ports/power.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// What is published on the bus, as values.
namespace nightlatch::supervisor {

/// Why the cue is refused, leaving, fault or stuck. The words are the client's.
enum class ReasonCode : unsigned char {
    locked,           ///< another program's block lock is in the way
    refused,          ///< for another reason
    not_sent,         ///< the request could not be handed over in time
    no_answer,        ///< it was sent, has no answer, and may still act
    given_up,         ///< it had none for so long that a new press may ask
    nothing_came,     ///< it led to no shutdown
    failed,           ///< a shutdown of ours that had begun was given up
    no_post_halt,     ///< the supply would stay on
    asked,            ///< a press's request is under way
    other_shutdown,   ///< somebody else's
    alarm,            ///< an alarm's request is under way
    dry,              ///< a dry run shows what a real one would do
    line_lost,        ///< the button's line is not available, or vanished
    line_unreadable,  ///< it floats, or is disturbed
    stuck,            ///< the button is pressed for longer than a press can be
};

inline constexpr std::array all_reason_codes{ReasonCode::locked,
                                             ReasonCode::refused,
                                             ReasonCode::not_sent,
                                             ReasonCode::no_answer,
                                             ReasonCode::given_up,
                                             ReasonCode::nothing_came,
                                             ReasonCode::failed,
                                             ReasonCode::no_post_halt,
                                             ReasonCode::asked,
                                             ReasonCode::other_shutdown,
                                             ReasonCode::alarm,
                                             ReasonCode::dry,
                                             ReasonCode::line_lost,
                                             ReasonCode::line_unreadable,
                                             ReasonCode::stuck};

std::string_view text_of(ReasonCode code) noexcept;

/// A code, and what goes with it where it is known. Other people's text in it is safe.
struct Reason {
    ReasonCode code = ReasonCode::refused;
    std::string alarm{};  ///< whose request it is about; empty: a press's, or no request
    std::optional<ports::Blocker> blocker{};
    std::string text{};
    std::optional<int> error{};           ///< an errno
    std::optional<std::uint32_t> rate{};  ///< edges per second

    bool operator==(const Reason&) const = default;
};

struct PublishedAlarm {
    std::string name;
    bool due = false;

    bool operator==(const PublishedAlarm&) const = default;
};

struct PublishedLine {
    lines::LineName where;  ///< as configured
    bool watching = false;

    bool operator==(const PublishedLine&) const = default;
};

/// The configuration's file, against what is in force.
enum class OnDisk : unsigned char { same, differs, bad };

struct PublishedConfiguration {
    std::string path;
    Instant loaded{};  ///< what is in force
    OnDisk on_disk = OnDisk::same;
    std::string trouble;  ///< of a bad one

    bool operator==(const PublishedConfiguration&) const = default;
};

struct Published {
    core::CueName cue = core::CueName::waiting;
    Instant since{};
    Instant until = never;  ///< never: open
    std::string stage;      ///< reached by the press under way, or decided; empty: none
    std::vector<core::Stage> stages;
    std::optional<Reason> reason;
    std::vector<PublishedAlarm> alarms;
    core::Verdict post_halt = core::Verdict::cannot_tell;
    PublishedLine line;
    PublishedConfiguration configuration;
    bool dry = false;
    std::string version;

    bool operator==(const Published&) const = default;
};

/// What can change, and is told when it does.
enum class Property : unsigned char {
    cue,
    since,
    until,
    stage,
    stages,
    reason,
    reason_details,
    alarms,
    post_halt,
    line,
    configuration,
};

/// In the order of Property.
std::vector<Property> differences(const Published& before, const Published& after);

}  // namespace nightlatch::supervisor
