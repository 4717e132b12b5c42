// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/app.hpp"

#include <memory>
#include <utility>

namespace nightlatch::supervisor {

/// What every shell around the App does, the service and a simulated run: passes on what comes from
/// the login manager, and sets its timer anew after whatever happened.
class Shell : public ports::PowerListener {
public:
    Shell() = default;
    Shell(const Shell&) = delete;
    Shell& operator=(const Shell&) = delete;

    bool may_send(std::uint32_t request) final {
        const bool may = app_->may_send(request);
        arm();
        return may;
    }

    void answered(std::uint32_t request, core::AnswerKind kind, const ports::Said& said) final {
        app_->answered(request, kind, said);
        arm();
    }

    void going_down(bool active, core::GoingDownKind kind) final {
        app_->going_down(active, kind);
        arm();
    }

    void preparing(std::uint32_t question, core::BeingPrepared told) final {
        app_->preparing(question, told);
        arm();
    }

    void login_manager(bool present) final {
        app_->login_manager(present);
        arm();
    }

    void resumed() final {
        app_->resumed();
        arm();
    }

protected:
    ~Shell() override = default;

    /// Sets the timer for app_->next_deadline().
    virtual void arm() = 0;

    /// Whoever asked is told by an event.
    void call_off() {
        app_->call_off();
        arm();
    }

    [[nodiscard]] App& app() noexcept { return *app_; }

    [[nodiscard]] const App& app() const noexcept { return *app_; }

    /// Before anything can happen; again when the service starts anew.
    void run_app(std::unique_ptr<App> app) noexcept { app_ = std::move(app); }

private:
    std::unique_ptr<App> app_;
};

}  // namespace nightlatch::supervisor
