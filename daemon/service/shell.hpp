// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/app.hpp"

#include <memory>
#include <utility>

namespace nightlatch::service {

/// What every shell around the App does: passes on what comes from the login manager, and sets its
/// timer anew after whatever happened.
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

    [[nodiscard]] supervisor::App& app() noexcept { return *app_; }

    /// In the shell's constructor, before anything can happen.
    void run_app(std::unique_ptr<supervisor::App> app) noexcept { app_ = std::move(app); }

private:
    std::unique_ptr<supervisor::App> app_;
};

}  // namespace nightlatch::service
