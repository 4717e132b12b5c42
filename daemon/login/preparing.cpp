// SPDX-License-Identifier: MIT
#include "daemon/login/preparing.hpp"

#include "daemon/login/login1.hpp"

#include <utility>

namespace nightlatch::login {

bus::MessageHandle preparing_call(sd_bus* on, const std::string& manager) {
    sd_bus_message* get = nullptr;
    if (on == nullptr || manager.empty() ||
        sd_bus_message_new_method_call(
            on, &get, manager.c_str(), login_path, "org.freedesktop.DBus.Properties", "Get") < 0) {
        return {};
    }
    bus::MessageHandle message{get};
    sd_bus_message_append(get, "ss", login_interface, "PreparingForShutdown");
    return message;
}

core::BeingPrepared preparing_in(sd_bus_message* reply) {
    int preparing = 0;
    if (sd_bus_message_is_method_error(reply, nullptr) > 0 ||
        sd_bus_message_read(reply, "v", "b", &preparing) < 0) {
        return core::BeingPrepared::cannot_tell;
    }
    return preparing != 0 ? core::BeingPrepared::yes : core::BeingPrepared::no;
}

PreparingQuestion::PreparingQuestion(sys::EventLoop& loop, Told told)
    : told_(std::move(told)),
      nobody_to_ask_(
          loop.deferred([this] { told_(question_, core::BeingPrepared::cannot_tell); })) {}

void PreparingQuestion::ask(std::uint32_t question, sd_bus* on, const std::string& manager) {
    nobody_to_ask_.cancel();
    question_ = question;
    call_ = bus::send(on,
                      preparing_call(on, manager),
                      bus::to<PreparingQuestion, &PreparingQuestion::on_reply>(this));
    if (call_ == nullptr) {
        nobody_to_ask_.post();
    }
}

void PreparingQuestion::manager_went() {
    if (call_ != nullptr) {
        call_.reset();
        nobody_to_ask_.post();
    }
}

void PreparingQuestion::on_reply(sd_bus_message* reply) {
    call_.reset();
    told_(question_, preparing_in(reply));
}

}  // namespace nightlatch::login
