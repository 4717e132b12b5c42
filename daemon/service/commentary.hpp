// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/moment.hpp"
#include "rehearsal/press_script.hpp"
#include "supervisor/ports/clock.hpp"
#include "supervisor/ports/cue_output.hpp"
#include "supervisor/ports/journal.hpp"

#include <cstdio>
#include <string>

namespace nightlatch::service {

/// A simulated run told line by line: what the button did, which cue is shown, what was decided and
/// why. Times count from the start of the run. It stands in for the journal and for the lamps.
class Commentary final : public ports::Journal, public ports::CueOutput {
public:
    Commentary(std::FILE* out, const ports::Clock& clock);

    [[nodiscard]] bool wants(ports::Priority) const noexcept override { return true; }

    using ports::Journal::say;
    void say(ports::Priority priority,
             ports::Message message,
             const std::string& text,
             std::span<const ports::Field> fields) override;

    void show(const core::Cue& cue) override;
    void finish(ports::Farewell farewell) override;

    /// A step of the press script.
    void step(Instant at, const rehearsal::ScriptStep& step);

    void tell(Instant at, rehearsal::Lane lane, const std::string& text) {
        line({at - start_, lane, text});
    }

    [[nodiscard]] int requests() const noexcept { return requests_; }

private:
    void line(const rehearsal::Moment& moment);

    std::FILE* out_;
    const ports::Clock& clock_;
    Instant start_;
    bool bold_;
    int requests_ = 0;
};

}  // namespace nightlatch::service
