// SPDX-License-Identifier: MIT
// The line: samples, Resync, contradictions, vanishing; and the state table's columns of the line.
#include "core/core.hpp"

#include <algorithm>
#include <optional>
#include <type_traits>
#include <utility>

namespace nightlatch::core {
namespace {

/// When it was, for an input of another line than the button.
template <class Given>
std::optional<Instant> instant_elsewhere(const Given& given) {
    if constexpr (std::is_same_v<Given, Sample>) {
        return given.line == button_line ? std::nullopt : std::optional(given.stamp);
    } else if constexpr (requires { given.line; }) {
        return given.line == button_line ? std::nullopt : std::optional(given.at);
    } else {
        return std::nullopt;
    }
}

}  // namespace

// --- the line ------------------------------------------------------------------------------------

/// No line but the button is known: what comes of another is traced.
bool Core::is_of_another_line(const Input& input) {
    const auto elsewhere =
        std::visit([](const auto& given) { return instant_elsewhere(given); }, input);
    if (elsewhere) {
        note(*elsewhere, Why::ignored);
    }
    return elsewhere.has_value();
}

void Core::take(const Sample& sample) {
    if (line_ != LineState::open) {
        note(sample.stamp, Why::ignored);
        return;
    }
    if (sample.stamp < debounce_.last_sample()) {
        note(sample.stamp, Why::out_of_order);
        demand_resync(debounce_.last_sample(), ResyncWhy::gap);
        return;
    }
    if (sample.stamp < advanced_) {
        ++late_edges_;
        note(sample.stamp, Why::late_edge);
    }
    if (sample.stamp < settled_at_) {
        // The line had not settled after all: a press begun too early would count as too long.
        demand_resync(settled_at_, ResyncWhy::contradiction);
        return;
    }
    if (contradiction_ && sample.stamp > *contradiction_) {
        // Too young to be the edge that the read saw and we did not: that one is lost.
        demand_resync(sample.stamp, ResyncWhy::contradiction);
        return;
    }
    contradiction_.reset();  // the next read tells whether this edge was the one missing
    run_until(sample.stamp);
    if (line_ != LineState::open) {
        return;
    }
    debounce_.sample(sample);
    if (storm_.count(sample.stamp, 1)) {
        on_line_gone(sample.stamp, Why::line_storm);
    }
}

void Core::take(const LineOpened& opened) {
    line_sleeps_ = opened.sleeps;
}

void Core::take(const Resync& resync) {
    line_ = LineState::open;
    line_floats_ = false;
    retry_at_ = never;
    contradiction_.reset();
    waiting_pressed_since_ = never;
    on_resync(resync.at);
    debounce_.reset(resync.at, resync.level);
    settled_at_ = resync.at;
    if (storm_.count(resync.at, resync.edges)) {
        on_line_gone(resync.at, Why::line_storm);
    }
}

void Core::take(const LevelRead& read) {
    if (line_ != LineState::open) {
        return;
    }
    last_read_ = read.at;
    if (read.level == debounce_.raw()) {
        if (contradiction_) {  // the level came back and no edge told of it: edges are lost
            demand_resync(read.at, ResyncWhy::contradiction);
        }
        return;
    }
    if (unconfirmed_) {
        demand_resync(read.at, ResyncWhy::contradiction);
    } else if (!contradiction_) {
        contradiction_ = read.at;
        note(read.at, Why::contradiction);
    }
}

void Core::take(const LineGone& gone) {
    on_line_gone(gone.at, Why::line_gone);
}

void Core::take(const LineMayBeBack& back) {
    if (line_ == LineState::gone && !line_floats_) {
        retry_at_ = std::min(retry_at_, back.at);
    }
}

void Core::take(const NewSettings& next) {
    on_resync(next.at);
    settings_ = next.settings;
    reached_ = no_index;
    debounce_.set_intervals(settings_->press_interval, settings_->release_interval);
    debounce_.lose();
    contradiction_.reset();
    if (line_ == LineState::open) {
        line_ = LineState::resyncing;  // the shell follows with a Resync, or says that it is gone
    }
}

void Core::demand_resync(Instant at, ResyncWhy why) {
    contradiction_.reset();
    on_resync(at);
    debounce_.lose();
    line_ = LineState::resyncing;
    actions_.push(RunResync{why});
}

void Core::retry_line_later(Instant at) {
    retry_at_ = at + back_off_;
    back_off_ = std::min(2 * back_off_, limits::longest_back_off);
}

// --- the state table's columns of the line -------------------------------------------------------

void Core::settle(const Settled& settled) {
    settled_at_ = std::max(settled_at_, settled.at);
    switch (settled.kind) {
    case SettleKind::pressed:
        on_press(settled);
        break;
    case SettleKind::found_pressed:
        on_found_pressed(settled);
        break;
    case SettleKind::pressed_again:
        on_pressed_again(settled);
        break;
    case SettleKind::released:
        on_release(settled);
        break;
    case SettleKind::glitch:
        note(settled.at, Why::glitch, settled.at - settled.edge);
        break;
    case SettleKind::voided:
        note(settled.at, Why::unsettled, settled.at - settled.edge);
        on_resync(settled.at);
        break;
    }
}

/// A level that was there when we first looked is not a press, in any state.
void Core::on_found_pressed(const Settled& found) {
    press_begin_ = found.edge;
    waiting_pressed_since_ = found.edge;
    note(found.at, Why::ignored);
}

void Core::on_press(const Settled& press) {
    press_begin_ = press.edge;
    switch (state_) {
    case State::rest:
    case State::refused:
        reached_ = no_index;
        enter(State::holding, press.at, Why::press_accepted);
        break;
    case State::countdown:  // the call-off rule: press_timer() and on_release()
        note(press.at, Why::press_accepted);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
        note(press.at, Why::spent);
        break;
    case State::waiting:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::fault:
        note(press.at, Why::ignored);
        break;
    }
}

/// The button was let go within drop-outs, and is down again: a new press, and what was reached
/// counts no more. A spent press stays spent, a stuck one (confirmed so until now) stuck.
void Core::on_pressed_again(const Settled& again) {
    const bool stuck = again.opened >= press_begin_ + settings_->stuck_after;
    // Down since before the countdown, as under an alarm: it must not become one that calls off.
    const bool spent = state_ == State::countdown && press_begin_ < decision_.released;
    if (!stuck && !spent) {
        press_begin_ = again.edge;
        waiting_pressed_since_ = again.edge;
    }
    switch (state_) {
    case State::holding:
    case State::ready:
        reached_ = no_index;
        enter(State::holding, again.at, Why::pressed_again, again.dropped);
        break;
    case State::waiting:
    case State::rest:
    case State::stuck:
    case State::countdown:
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::refused:
    case State::fault:
        note(again.at, Why::pressed_again, again.dropped);
        break;
    }
}

void Core::on_release(const Settled& release) {
    said_pressed_ = false;
    holding_back_ = false;
    const Duration held = release.edge - press_begin_;
    switch (state_) {
    case State::waiting:
        back_off_ = limits::first_back_off;
        enter(State::rest, release.at, Why::release_accepted);
        break;
    case State::holding:
    case State::ready:
        decide_stage(release.at, release.edge);
        break;
    case State::stuck:
        enter(State::rest, release.at, Why::release_accepted, held);
        break;
    case State::countdown:
        if (calls_off(press_begin_) && held >= limits::call_off_hold) {
            enter(State::rest, release.at, Why::called_off);
        } else {
            note(release.at, Why::release_accepted, held);
        }
        break;
    case State::rest:
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::refused:
    case State::fault:
        note(release.at, Why::release_accepted);
        break;
    }
}

void Core::on_resync(Instant at) {
    const bool dropped = drop_unconfirmed(at);
    switch (state_) {
    case State::waiting:
    case State::rest:
    case State::refused:
    case State::fault:
        enter(State::waiting, at, Why::resync);
        break;
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
        enter(State::waiting, at, Why::voided);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
        note(at, dropped ? Why::voided : Why::ignored);
        break;
    }
}

void Core::on_line_gone(Instant at, Why why) {
    if (line_ == LineState::open && why == Why::line_storm) {
        actions_.push(CloseLine{});
    }
    line_ = LineState::gone;
    line_floats_ = why == Why::line_storm;
    debounce_.lose();
    storm_.reset();
    contradiction_.reset();
    holding_back_ = false;
    retry_line_later(at);
    drop_unconfirmed(at);
    switch (state_) {
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
    case State::refused:
        enter(State::fault, at, why);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::fault:
        note(at, why);
        break;
    }
}

}  // namespace nightlatch::core
