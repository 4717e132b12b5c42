// SPDX-License-Identifier: MIT
#include "daemon/service/run_summary.hpp"

#include "config/words.hpp"
#include "daemon/sys/small_file.hpp"
#include "logbook/summary_text.hpp"

#include <utility>

namespace nightlatch::service {
namespace {

constexpr std::size_t longest_run_summary = 4096;

}  // namespace

RunSummary::RunSummary(sys::EventLoop& loop, std::string path, ports::Journal& journal)
    : path_(std::move(path)), journal_(journal),
      writing_(loop.deferred_until_idle([this] { write(); })) {
    const auto text = sys::read_small_file(path_, longest_run_summary);
    if (auto earlier = text ? logbook::parse_summary_text(*text) : std::nullopt) {
        summary_ = std::move(*earlier);
        ++summary_.restarts;
    }
}

RunSummary::~RunSummary() {
    write();
}

void RunSummary::happened(const supervisor::Event& event) {
    now_ = event.at;
    if (std::visit([this](const auto& what) { return take(what); }, event.what)) {
        unwritten_ = true;
        writing_.post();
    }
}

bool RunSummary::take(const supervisor::Started& /*started*/) {
    return true;
}

bool RunSummary::take(const supervisor::Noted& noted) {
    const bool press =
        noted.note.why == core::Why::press_accepted && noted.note.line == core::button_line;
    summary_.presses += press ? 1U : 0U;
    return press;
}

bool RunSummary::take(const supervisor::NearMiss& /*missed*/) {
    ++summary_.near_misses;
    return true;
}

bool RunSummary::take(const supervisor::Decided& decided) {
    summary_.decided = decided.note.at;
    return true;
}

bool RunSummary::take(const supervisor::AlarmDue& due) {
    summary_.decided = due.note.at;
    return true;
}

bool RunSummary::take(const supervisor::Asked& asked) {
    if (const auto* press = std::get_if<supervisor::ByPress>(&asked.cause)) {
        summary_.decided_by = press->stage.name;
    } else {
        summary_.decided_by = std::get<supervisor::ByAlarm>(asked.cause).name;
    }
    summary_.action = config::word_for(config::action_words, asked.action);
    summary_.asked = now_;
    return true;
}

/// One that was given up has been none: what was asked for stays, and led to nothing.
bool RunSummary::take(const supervisor::GoingDown& going_down) {
    if (going_down.active) {
        summary_.going_down = going_down.note.at;
    } else {
        summary_.going_down.reset();
    }
    return true;
}

void RunSummary::write() {
    if (!std::exchange(unwritten_, false)) {
        return;
    }
    const Outcome written = sys::replace_file(path_, logbook::summary_text(summary_));
    if (!written && !was_told_) {
        journal_.say(ports::Priority::warning, ports::Message::plain, written.error().text);
    }
    was_told_ = !written;
}

}  // namespace nightlatch::service
