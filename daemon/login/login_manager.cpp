// SPDX-License-Identifier: MIT
#include "daemon/login/login_manager.hpp"

#include "daemon/login/delay_lock.hpp"
#include "daemon/login/preparing.hpp"
#include "daemon/login/presence.hpp"
#include "daemon/login/request.hpp"

#include <utility>

namespace nightlatch::login {

/// Joins presence, lock and request. What it tells the listener comes last in each function: the
/// listener may call back in.
class LoginManager::Wiring final : bus::BusUser, PresenceUser {
public:
    Wiring(const Surroundings& around, Options options)
        : options_(std::move(options)), listener_(around.listener), bus_(around.bus),
          presence_(*this), lock_(around.loop, around.journal, options_.lock_pause),
          question_(around.loop,
                    [this](std::uint32_t question, core::BeingPrepared told) {
                        on_preparing(question, told);
                    }),
          request_({around.loop, around.journal, bus_, presence_, listener_}, options_) {
        bus_.add(*this);
    }

    void start() {
        if (!options_.dry_run) {
            request_.second_route().clear();
        }
    }

    void ask(const Wish& wish) { request_.begin(wish); }

    void withdraw(std::uint32_t request) { request_.withdraw(request); }

    void ask_preparing(std::uint32_t question) {
        question_.ask(question, bus_.get(), presence_.owner());
    }

    void hold_delay(bool hold) { lock_.want(hold && !options_.dry_run); }

private:
    void bus_connected(sd_bus* bus) override { presence_.connected(bus); }

    void bus_lost() override {
        presence_.disconnected();
        manager_went();
    }

    void manager_is_known() override { request_.manager_is_known(); }

    void manager_came() override {
        lock_.manager(bus_.get(), presence_.owner());
        listener_.login_manager(true);
    }

    void manager_went() override {
        lock_.no_manager();
        question_.manager_went();
        request_.manager_went();
        listener_.login_manager(false);
    }

    void shutdown_announced(bool active, core::GoingDownKind kind) override {
        if (!active) {
            lock_.again();
        }
        listener_.going_down(active, kind);
    }

    void sleep_is_over() override { listener_.resumed(); }

    void on_preparing(std::uint32_t question, core::BeingPrepared told) {
        if (told != core::BeingPrepared::cannot_tell) {
            presence_.preparing_is(told == core::BeingPrepared::yes);
        }
        listener_.preparing(question, told);
    }

    const Options options_;
    ports::PowerListener& listener_;
    bus::Bus& bus_;
    Presence presence_;
    DelayLock lock_;
    PreparingQuestion question_;
    Request request_;
};

LoginManager::LoginManager(const Surroundings& surroundings, Options options)
    : wiring_(std::make_unique<Wiring>(surroundings, std::move(options))) {}

LoginManager::~LoginManager() = default;

void LoginManager::start() {
    wiring_->start();
}

void LoginManager::ask(std::uint32_t request, core::Action action, core::Inhibitors inhibitors) {
    wiring_->ask({request, action, inhibitors});
}

void LoginManager::withdraw(std::uint32_t request) {
    wiring_->withdraw(request);
}

void LoginManager::ask_preparing(std::uint32_t question) {
    wiring_->ask_preparing(question);
}

void LoginManager::hold_delay(bool hold) {
    wiring_->hold_delay(hold);
}

}  // namespace nightlatch::login
