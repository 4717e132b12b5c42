// SPDX-License-Identifier: MIT
#pragma once

#include "core/core.hpp"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::test {

/// An action and the instant at which it came out.
struct Left {
    Instant at;
    core::ActionOut action;
};

/// The core's surroundings in virtual time, keeping its contract: a deadline is waited for, the
/// level is read before it passes, actions are taken until there are none. A request is told to be
/// sent the moment it leaves; whatever else may be answered is not, unless a test says so.
class Shell {
public:
    /// A core whose line has been opened and found at `level`; the actions of that are dropped.
    Shell(const core::Settings& settings, Instant start, Level level);
    /// A core whose line has not been opened yet.
    explicit Shell(const core::Settings& settings);

    /// What a level read finds, when that is not the level of the last sample (edges were lost).
    std::function<Level(Instant)> true_level;
    /// Hands a request to the bus the moment it leaves.
    bool sends = true;
    /// Answers for a request right after it was sent, if set.
    std::optional<core::AnswerKind> answers;
    /// Whether a shutdown is being prepared, when that is asked for; if set.
    std::optional<core::BeingPrepared> preparing;
    /// Runs the Resync procedure when the core asks for it.
    bool obeys_resync = true;
    /// Opens the line when the core asks for it; while it is closed, samples go nowhere.
    bool opens = false;

    /// Waits until `until`, passing every deadline up to there on its instant.
    void wait(Instant until);
    /// Waits for the sample's stamp, then feeds it.
    void sample(Instant stamp, Level level);
    /// As sample(), without passing a single deadline on the way: the loop was late.
    void feed(const core::Input& input);
    /// One wake-up at `now`: reads the level if a deadline is due, advances, takes the actions.
    void wake(Instant now);

    [[nodiscard]] const core::Core& core() const { return core_; }

    [[nodiscard]] const std::vector<Left>& left() const { return left_; }

    [[nodiscard]] const std::vector<core::Note>& notes() const { return notes_; }

private:
    void take_actions(Instant now);
    void obey(const core::ActionOut& action, Instant now);
    void send(const core::Ask& ask, Instant now);
    void take_notes();

    [[nodiscard]] Level level(Instant now, core::LineIndex line = core::button_line) const {
        return true_level && line == core::button_line ? true_level(now) : seen_[line];
    }

    core::Core core_;
    std::vector<Left> left_;
    std::vector<core::Note> notes_;
    std::vector<Level> seen_;  ///< by line
    bool closed_ = false;
    Instant now_ = Instant::min();  ///< no clock goes back
};

/// Requests among what left: Ask and Publish.
std::vector<Left> requests_of(const std::vector<Left>& left);
std::size_t asks_in(const std::vector<Left>& left);

std::string text_of(Instant instant);
std::string text_of(const core::ActionOut& action);
std::string text_of(const std::vector<Left>& left);
std::string text_of(const std::vector<core::Note>& notes);

}  // namespace nightlatch::test
