// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/moment.hpp"
#include "rehearsal/simulated_run.hpp"
#include "supervisor/ports/journal.hpp"

#include <cstdio>
#include <string>

namespace nightlatch::service {

enum class AskedOf : unsigned char {
    machine,  ///< this one's login manager
    nobody,   ///< a dry run
    script,   ///< the press script's login manager
};

/// A simulated run told line by line: what the button did, which cue is shown, what was decided and
/// why. Times count from the start of the run. To the adapters it stands in for the journal.
class Commentary final : public rehearsal::RunFollower, public ports::Journal {
public:
    Commentary(std::FILE* out, const ports::Clock& clock);

    void happened(const supervisor::Event& event) override;
    void step(Instant at, const rehearsal::ScriptStep& step) override;
    void login_tells(Instant at, const std::string& text) override;

    [[nodiscard]] bool wants(ports::Priority priority) const noexcept override {
        return priority != ports::Priority::debug;
    }

    using ports::Journal::say;
    void say(ports::Priority priority,
             ports::Message message,
             const std::string& text,
             std::span<const ports::Field> fields) override;

    /// The last line: how many requests there were, and who was asked.
    void over(AskedOf whom);

private:
    void line(const rehearsal::Moment& moment);

    std::FILE* out_;
    const ports::Clock& clock_;
    Instant start_;
    bool bold_;
    int requests_ = 0;
};

}  // namespace nightlatch::service
