// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/press_script.hpp"
#include "supervisor/ports/clock.hpp"
#include "supervisor/ports/power.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::rehearsal {

/// The simulated side of Power: a login manager that does what a press script says, by default
/// accepting every request. What it accepts begins with PrepareForShutdown(true), sent before the
/// answer or after it [org.freedesktop.login1(5)]; here after it.
class SimulatedPower final : public ports::Power {
public:
    /// `told` hears what it has to say of itself; may be empty.
    SimulatedPower(const ports::Clock& clock,
                   ports::PowerListener& listener,
                   std::function<void(const std::string&)> told);

    /// Sends at the next play(), if the listener still wants it then.
    void ask(std::uint32_t request, core::Action action, core::Inhibitors inhibitors) override;
    void withdraw(std::uint32_t request) override;
    void ask_preparing(std::uint32_t question) override;
    void hold_delay(bool hold) override;

    /// When play() has something to pass on.
    [[nodiscard]] Instant next_due() const noexcept;
    /// Passes on what is due. Not to be called from inside the listener.
    void play();

    void take(const LoginAnswers& answers) { answers_ = answers; }

    void take(LoginDoes does);
    /// The service starts: what it had asked dies with its connection.
    void greet();
    /// The board was off: nothing goes on any more.
    void forget();

private:
    struct Due {
        Instant at;
        std::function<void()> happens;
    };

    void later(Duration delay, std::function<void()> happens);
    void send();
    void answer_later(std::uint32_t request, core::AnswerKind kind, const std::string& text);
    void tell_preparing();
    void nothing_is_due();
    void go_down(core::GoingDownKind kind);
    void give_up();
    void shut_down_by_others(core::GoingDownKind kind);

    const ports::Clock& clock_;
    ports::PowerListener& listener_;
    std::function<void(const std::string&)> told_;
    LoginAnswers answers_;
    std::vector<Due> due_;                  ///< in order of time
    std::optional<std::uint32_t> to_send_;  ///< this request, for:
    core::Action action_ = core::Action::power_off;
    std::optional<std::uint32_t> question_;  ///< not answered yet
    bool present_ = true;
    bool preparing_ = false;
    bool delay_held_ = false;
};

}  // namespace nightlatch::rehearsal
