// SPDX-License-Identifier: MIT
#include "daemon/login/login_manager.hpp"

#include "daemon/login/delay_lock.hpp"
#include "daemon/login/presence.hpp"
#include "daemon/login/request.hpp"

#include <utility>

namespace nightlatch::login {

/// Joins presence, lock and request. What it tells the listener comes last in each function: the
/// listener may call back in.
class LoginManager::Wiring final : bus::BusUser, PresenceUser, RequestUser {
public:
    Wiring(const Surroundings& around, Options options)
        : options_(std::move(options)), listener_(around.listener), bus_(around.bus),
          presence_(*this), lock_(around.journal),
          request_({around.loop, around.journal, bus_, presence_}, options_, *this) {
        bus_.add(*this);
    }

    void start() { request_.second_route().clear(); }

    void ask(core::Action action, core::Inhibitors inhibitors) {
        request_.begin(action, inhibitors);
    }

    void hold_delay(bool hold) { lock_.want(hold); }

private:
    void bus_connected(sd_bus* bus) override { presence_.connected(bus); }

    void bus_lost() override {
        presence_.disconnected();
        lock_.no_manager();
        request_.bus_lost();
        listener_.login_manager(false, false);
    }

    void manager_is_known() override { request_.manager_is_known(); }

    void manager_appeared() override { lock_.manager(bus_.get(), presence_.owner()); }

    /// A request that was sent to a manager that is gone is dead now, and the listener learns by
    /// this whether it led to anything. Any other request is still ours to send or to have
    /// answered; the news would be taken for the end of it.
    void manager_came(bool preparing) override {
        if (!request_.under_way() || request_.lost()) {
            request_.forget();
            listener_.login_manager(true, preparing);
        } else if (preparing) {
            listener_.going_down(true, core::GoingDownKind::unknown);
        }
    }

    void manager_went() override {
        lock_.no_manager();
        request_.manager_went();
        listener_.login_manager(false, false);
    }

    void shutdown_announced(bool active, core::GoingDownKind kind) override {
        if (!active) {
            lock_.again();
        }
        listener_.going_down(active, kind);
    }

    void sleep_is_over() override { listener_.resumed(); }

    void request_ended(core::AnswerKind kind, const std::string& text) override {
        listener_.answered(kind, text);
    }

    const Options options_;
    ports::PowerListener& listener_;
    bus::Bus& bus_;
    Presence presence_;
    DelayLock lock_;
    Request request_;
};

LoginManager::LoginManager(const Surroundings& surroundings, Options options)
    : wiring_(std::make_unique<Wiring>(surroundings, std::move(options))) {}

LoginManager::~LoginManager() = default;

void LoginManager::start() {
    wiring_->start();
}

void LoginManager::ask(core::Action action, core::Inhibitors inhibitors) {
    wiring_->ask(action, inhibitors);
}

void LoginManager::hold_delay(bool hold) {
    wiring_->hold_delay(hold);
}

}  // namespace nightlatch::login
