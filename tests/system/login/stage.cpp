// SPDX-License-Identifier: MIT
#include "system/login/stage.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <filesystem>

#include <systemd/sd-event.h>

namespace nightlatch::test {
namespace {

constexpr auto patience = 20s;  ///< far longer than anything here takes, sanitizers included

std::string text_of(bool value) {
    return value ? "true" : "false";
}

std::string text_of(core::AnswerKind kind) {
    switch (kind) {
    case core::AnswerKind::sent:
        return "sent";
    case core::AnswerKind::accepted:
        return "accepted";
    case core::AnswerKind::taken_up:
        return "taken up";
    case core::AnswerKind::refused:
        return "refused";
    case core::AnswerKind::would_do:
        return "would do";
    }
    return "";
}

std::string text_of(core::BeingPrepared told) {
    switch (told) {
    case core::BeingPrepared::yes:
        return "yes";
    case core::BeingPrepared::no:
        return "no";
    case core::BeingPrepared::cannot_tell:
        return "cannot tell";
    }
    return "";
}

std::string text_of(core::GoingDownKind kind) {
    switch (kind) {
    case core::GoingDownKind::unknown:
        return "unknown";
    case core::GoingDownKind::power_off:
        return "power-off";
    case core::GoingDownKind::reboot:
        return "reboot";
    }
    return "";
}

}  // namespace

bool RecordingListener::may_send(std::uint32_t request) {
    wanted_to_send.push_back(request);
    return lets_send;
}

void RecordingListener::answered(std::uint32_t request,
                                 core::AnswerKind kind,
                                 const ports::Said& said) {
    if (kind == core::AnswerKind::sent) {
        heard.push_back("sent " + std::to_string(request));
        return;
    }
    heard.push_back("answered " + text_of(kind));
    answers.push_back(said.text);
    blockers.push_back(said.blocker);
    answered_to.push_back(request);
}

void RecordingListener::going_down(bool active, core::GoingDownKind kind) {
    heard.push_back("going_down " + text_of(active) + " " + text_of(kind));
    if (when_going_down) {
        when_going_down(active);
    }
}

void RecordingListener::preparing(std::uint32_t question, core::BeingPrepared told) {
    heard.push_back("preparing " + std::to_string(question) + " " + text_of(told));
}

void RecordingListener::login_manager(bool present) {
    heard.push_back("login_manager " + text_of(present));
}

void RecordingListener::resumed() {
    heard.emplace_back("resumed");
}

std::size_t RecordingListener::count(const std::string& line) const {
    return static_cast<std::size_t>(std::count(heard.begin(), heard.end(), line));
}

void RecordingJournal::say(ports::Priority /*priority*/,
                           ports::Message /*message*/,
                           const std::string& text,
                           std::span<const ports::Field> /*fields*/) {
    lines.push_back(text);
}

std::size_t RecordingJournal::count(const std::string& text) const {
    return static_cast<std::size_t>(
        std::count_if(lines.begin(), lines.end(), [&text](const std::string& line) {
            return line.find(text) != std::string::npos;
        }));
}

Stage::Stage() : loop(std::move(sys::EventLoop::open().value())) {
    options.as_root = false;
    options.second_route_directory = bus.directory() + "/run";
    std::filesystem::create_directory(options.second_route_directory);
}

Stage::~Stage() {
    stop();
    fake_.reset();
    third_.reset();
}

FakeLogin1& Stage::manager(FakeManners manners) {
    fake_ = std::make_unique<FakeLogin1>(loop->raw(), std::move(manners));
    return *fake_;
}

login::LoginManager& Stage::start() {
    connection_ = std::make_unique<bus::Bus>(*loop, journal);
    adapter_ = std::make_unique<login::LoginManager>(
        login::LoginManager::Surroundings{*loop, *connection_, listener, journal}, options);
    for (bus::BusUser* const other : others) {
        connection_->add(*other);
    }
    adapter_->start();
    connection_->start();
    return *adapter_;
}

login::LoginManager& Stage::start_with(FakeManners manners) {
    bus.start();
    manager(std::move(manners));
    start();
    NIGHTLATCH_ENSURE(await_heard("login_manager true"));
    listener.heard.clear();
    return *adapter_;
}

bool Stage::await(const std::function<bool()>& is_so) {
    const Instant end = loop->now() + patience;
    constexpr std::uint64_t turn_us = 100'000;
    while (!is_so()) {
        if (loop->now() > end) {
            return false;
        }
        NIGHTLATCH_ENSURE(sd_event_run(loop->raw(), turn_us) >= 0);
    }
    return true;
}

bool Stage::await_heard(const std::string& line, std::size_t times) {
    return await([&] { return listener.count(line) >= times; });
}

bool Stage::await_answer() {
    return await(
        [this, before = listener.answers.size()] { return listener.answers.size() > before; });
}

std::string Stage::ask_bus(const std::string& destination,
                           const char* interface,
                           const char* member) {
    struct Answer {
        bool came = false;
        std::string text;
    } answer;

    if (third_ == nullptr || sd_bus_is_ready(third_.get()) <= 0) {
        third_ = connect_to_bus(loop->raw());
    }
    const auto take = [](sd_bus_message* reply, void* userdata, sd_bus_error*) {
        auto& to = *static_cast<Answer*>(userdata);
        const char* text = "";
        sd_bus_message_read(reply, "s", &text);
        to = {true, text};
        return 0;
    };
    NIGHTLATCH_ENSURE(sd_bus_call_method_async(third_.get(),
                                               nullptr,
                                               destination.c_str(),
                                               "/org/freedesktop/login1",
                                               interface,
                                               member,
                                               take,
                                               &answer,
                                               nullptr) >= 0);
    NIGHTLATCH_ENSURE(await([&answer] { return answer.came; }));
    return answer.text;
}

void Stage::settle() {
    const std::size_t before = listener.count("resumed");
    fake_->prepare_for_sleep(false);
    NIGHTLATCH_ENSURE(await_heard("resumed", before + 1));
    for (int i = 0; i < 3; ++i) {
        ask_bus("org.freedesktop.login1", "org.freedesktop.DBus.Peer", "Ping");
    }
}

bool says(const std::string& text, const std::vector<std::string>& parts) {
    return std::all_of(parts.begin(), parts.end(), [&text](const std::string& part) {
        return text.find(part) != std::string::npos;
    });
}

}  // namespace nightlatch::test
