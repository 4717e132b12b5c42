// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/ports/button_line.hpp"

namespace nightlatch::testing {

/// A line whose chip sleeps (is behind a bus) or does not.
class FaultyLine final : public ports::ButtonLine {
public:
    FaultyLine(ports::ButtonLine& line, bool sleeps) : line_(line), sleeps_(sleeps) {}

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

    Result<Level> level() override { return line_.level(); }

private:
    ports::ButtonLine& line_;
    bool sleeps_;
};

}  // namespace nightlatch::testing
