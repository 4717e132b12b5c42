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

    void answered(core::AnswerKind kind, const std::string& text) final {
        app_->answered(kind, text);
        arm();
    }

    void going_down(bool active, core::GoingDownKind kind) final {
        app_->going_down(active, kind);
        arm();
    }

    void login_manager(bool present, bool preparing) final {
        app_->login_manager(present, preparing);
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

    [[nodiscard]] App& app() noexcept { return *app_; }

    [[nodiscard]] const App& app() const noexcept { return *app_; }

    /// Before anything can happen; again when the service starts anew.
    void run_app(std::unique_ptr<App> app) noexcept { app_ = std::move(app); }

private:
    std::unique_ptr<App> app_;
};

}  // namespace nightlatch::supervisor
