// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/ports/button_line.hpp"
#include "supervisor/ports/clock.hpp"

namespace nightlatch::testing {

/// A line whose chip sleeps, and whose level cannot be read for a while: a bus with a bad contact.
class FaultyLine final : public ports::ButtonLine {
public:
    FaultyLine(ports::ButtonLine& line, const ports::Clock& clock, bool sleeps)
        : line_(line), clock_(clock), sleeps_(sleeps) {}

    Result<ports::LineFacts> open(const ports::LineRequest& request) override {
        auto facts = line_.open(request);
        if (facts) {
            facts->sleeps = sleeps_;
        }
        return facts;
    }

    void close() noexcept override { line_.close(); }

    Result<std::size_t> drain(std::span<ports::LineEvent> into) override {
        return line_.drain(into);
    }

    Result<Level> level() override {
        if (unreadable_from <= clock_.now() && clock_.now() < unreadable_until) {
            ++failed_reads;
            return Unexpected{Error{trouble, "reading the level failed: Input/output error"}};
        }
        return line_.level();
    }

    Instant unreadable_from = never;
    Instant unreadable_until = never;
    Trouble trouble = Trouble::other;
    int failed_reads = 0;

private:
    ports::ButtonLine& line_;
    const ports::Clock& clock_;
    bool sleeps_;
};

}  // namespace nightlatch::testing
