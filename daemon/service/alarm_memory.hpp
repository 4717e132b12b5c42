// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/event.hpp"
#include "supervisor/ports/journal.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::service {

/// "nightlatch-alarms 1\n", then a line an alarm: "ignored battery low" or "counts battery low".
std::string alarms_text(const std::vector<core::KnownAlarm>& alarms);

/// Nothing of a text that is not exactly such a one: then each alarm is looked at anew.
std::vector<core::KnownAlarm> parse_alarms_text(std::string_view text);

/// Remembers in /run, and so until the board is switched off, which alarms have been looked at and
/// which of them are ignored.
class AlarmMemory final : public supervisor::Follower {
public:
    AlarmMemory(std::string path, ports::Journal& journal)
        : path_(std::move(path)), journal_(journal) {}

    /// What an earlier run in this boot has left.
    std::vector<core::KnownAlarm> read();

    void happened(const supervisor::Event& event) override;

private:
    std::string path_;
    ports::Journal& journal_;
    std::vector<core::KnownAlarm> alarms_;
};

}  // namespace nightlatch::service
