// SPDX-License-Identifier: MIT
#include "daemon/tool/call_off/call_off.hpp"

#include "base/text.hpp"
#include "daemon/tool/client/client.hpp"
#include "daemon/tool/client/words.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <chrono>

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

/// A person may be asked for a password by polkit's agent meanwhile.
constexpr Duration call_limit = 2min;

constexpr const char* call_off_footer = R"(
Examples:
  nightlatch call-off                       while the countdown runs
  nightlatch call-off || echo "too late, or nothing to call off"

Privileges: root, the active local session, and anyone to whom a polkit rule grants the action
org.nightlatch.Nightlatch1.call-off. It can only prevent a request, never cause one.

Exit status: 0 called off; 1 there was nothing to call off, it was refused, or the service is not
running; 2 the command line is wrong, or the answer could not be written.)";

bool is_denied(std::string_view error) {
    return error == "org.freedesktop.DBus.Error.AccessDenied" ||
           error == "org.freedesktop.DBus.Error.AuthFailed" ||
           error == "org.freedesktop.DBus.Error.InteractiveAuthorizationRequired";
}

/// Calls as soon as the service is known to be there.
class CallingOff final : public ServiceFollower {
public:
    explicit CallingOff(sys::EventLoop& loop)
        : loop_(loop), client_(loop, *this), limit_(loop.timer([this] {
              end("no answer came in two minutes: look with nightlatch status");
          })) {}

    void start() { client_.start(); }

    /// Why it was not called off; empty when it was.
    [[nodiscard]] const std::string& failure() const noexcept { return failure_; }

    void shown(const ServiceState& /*state*/) override {
        if (call_ != nullptr) {
            return;
        }
        sd_bus_message* made = nullptr;
        sd_bus_message_new_method_call(
            client_.connection(), &made, service_name, service_path, service_interface, "CallOff");
        const bus::MessageHandle message{made};
        if (made != nullptr) {
            sd_bus_message_set_auto_start(made, 0);
            sd_bus_message_set_allow_interactive_authorization(made, 1);
        }
        call_ = bus::send(
            client_.connection(), message, bus::to<CallingOff, &CallingOff::answered>(this));
        if (call_ == nullptr) {
            end("the call could not be sent: try again");
        }
        limit_.arm(loop_.now() + call_limit);
    }

    void announced(const std::string& /*name*/) override {}

    void absent(Absent why, const std::string& detail) override {
        end(absent_words(why, detail) + ": nothing was called off");
    }

private:
    void answered(sd_bus_message* reply) {
        const std::string error = bus::error_name(reply);
        if (error.empty()) {
            end("");
            return;
        }
        const char* const text = sd_bus_message_get_error(reply)->message;
        end(call_off_refusal(error, text != nullptr ? text : ""));
    }

    void end(const std::string& why) {
        failure_ = why;
        loop_.exit(0);
    }

    sys::EventLoop& loop_;
    ServiceClient client_;
    sys::Timer limit_;
    bus::Slot call_;
    std::string failure_;
};

}  // namespace

std::string call_off_refusal(std::string_view error, std::string_view text) {
    if (error == "org.nightlatch.Nightlatch1.Error.NothingToCallOff") {
        return "there is nothing to call off: no countdown runs, and no request waits to be sent";
    }
    if (is_denied(error)) {
        return "refused: only root, the active local session and those to whom a polkit rule "
               "grants org.nightlatch.Nightlatch1.call-off may call off";
    }
    if (bus::is_no_answer(error)) {
        return "the service ended before it answered: look with nightlatch status";
    }
    return "refused: " + safe(text.empty() ? error : text);
}

void describe_call_off(Options& options, CallOffOptions& /*into*/) {
    options.footer(call_off_footer);
}

int run_call_off(const CallOffOptions& /*options*/) {
    auto loop = sys::EventLoop::open();
    if (!loop) {
        return complain(loop.error().text, 1);
    }
    CallingOff calling(**loop);
    calling.start();
    if (const Result<int> ran = (*loop)->run(); !ran) {
        return complain(ran.error().text, 1);
    }
    if (!calling.failure().empty()) {
        return complain(calling.failure(), 1);
    }
    print("Called off.\n");
    return 0;
}

}  // namespace nightlatch::tool
