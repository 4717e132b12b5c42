// SPDX-License-Identifier: MIT
#include "daemon/service/alarm_memory.hpp"

#include "base/text.hpp"
#include "daemon/sys/small_file.hpp"

#include <algorithm>

namespace nightlatch::service {
namespace {

constexpr std::string_view head = "nightlatch-alarms 1\n";
constexpr std::string_view ignored = "ignored ";
constexpr std::string_view counts = "counts ";
constexpr std::size_t longest = 65'536;

}  // namespace

std::string alarms_text(const std::vector<core::KnownAlarm>& alarms) {
    std::string text(head);
    for (const core::KnownAlarm& alarm : alarms) {
        text += std::string(alarm.ignored ? ignored : counts) + alarm.name + "\n";
    }
    return text;
}

std::vector<core::KnownAlarm> parse_alarms_text(std::string_view text) {
    std::vector<core::KnownAlarm> alarms;
    if (!text.starts_with(head)) {
        return {};
    }
    text.remove_prefix(head.size());
    while (!text.empty()) {
        const std::size_t end = text.find('\n');
        const std::string_view line = text.substr(0, end);
        const bool is_ignored = line.starts_with(ignored);
        if (end == std::string_view::npos || (!is_ignored && !line.starts_with(counts))) {
            return {};
        }
        const std::size_t word = is_ignored ? ignored.size() : counts.size();
        alarms.push_back({std::string(line.substr(word)), is_ignored});
        text.remove_prefix(end + 1);
    }
    return alarms;
}

std::vector<core::KnownAlarm> AlarmMemory::read() {
    const auto text = sys::read_small_file(path_, longest);
    alarms_ = text ? parse_alarms_text(*text) : std::vector<core::KnownAlarm>();
    return alarms_;
}

void AlarmMemory::happened(const supervisor::Event& event) {
    const auto* kept = std::get_if<supervisor::AlarmKept>(&event.what);
    if (kept == nullptr) {
        return;
    }
    const auto same = std::find_if(alarms_.begin(), alarms_.end(), [&](const auto& each) {
        return each.name == kept->alarm.name;
    });
    if (same == alarms_.end()) {
        alarms_.push_back(kept->alarm);
    } else {
        *same = kept->alarm;
    }
    if (const Outcome written = sys::replace_file(path_, alarms_text(alarms_)); !written) {
        journal_.say(ports::Priority::warning, ports::Message::plain, written.error().text);
    }
}

}  // namespace nightlatch::service
