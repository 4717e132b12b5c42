// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/ports/journal.hpp"

#include <functional>
#include <string>
#include <vector>

namespace nightlatch::test {

/// Keeps the texts.
class RecordedJournal final : public ports::Journal {
public:
    [[nodiscard]] bool wants(ports::Priority) const noexcept override { return true; }

    using ports::Journal::say;

    void say(ports::Priority,
             ports::Message,
             const std::string& text,
             std::span<const ports::Field>) override {
        lines.push_back(text);
        on_line();
    }

    std::vector<std::string> lines;
    std::function<void()> on_line = [] {};
};

}  // namespace nightlatch::test
