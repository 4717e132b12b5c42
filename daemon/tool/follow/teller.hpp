// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/sys/event_loop.hpp"
#include "daemon/tool/client/client.hpp"
#include "daemon/tool/follow/follow.hpp"
#include "daemon/tool/follow/hook.hpp"
#include "daemon/tool/follow/screen.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>

/// What `follow` makes of what the service tells, on standard output or by a program. Each teller
/// is one way of it.
namespace nightlatch::tool {

/// JSON, an object a line.
class JsonTeller final : public ServiceFollower {
public:
    explicit JsonTeller(sys::EventLoop& loop) : loop_(loop) {}

    void shown(const ServiceState& state) override;
    void announced(const std::string& name) override;
    void absent(Absent why, const std::string& detail) override;

private:
    sys::EventLoop& loop_;
};

/// A line for each change that a person would see.
class PlainTeller final : public ServiceFollower {
public:
    explicit PlainTeller(sys::EventLoop& loop) : loop_(loop) {}

    void shown(const ServiceState& state) override;
    void announced(const std::string& name) override;
    void absent(Absent why, const std::string& detail) override;

private:
    sys::EventLoop& loop_;
    std::optional<ServiceState> last_;
};

/// One line of the terminal that is written anew, or the whole terminal. It ticks while time moves
/// what is to be seen, and not otherwise.
class ScreenTeller final : public ServiceFollower {
public:
    ScreenTeller(sys::EventLoop& loop, bool whole);
    ~ScreenTeller() override;
    ScreenTeller(const ScreenTeller&) = delete;
    ScreenTeller& operator=(const ScreenTeller&) = delete;

    void shown(const ServiceState& state) override;
    void announced(const std::string& name) override;
    void absent(Absent why, const std::string& detail) override;

private:
    void draw();
    void show(const Sight& sight);

    sys::EventLoop& loop_;
    bool whole_;
    sys::Timer tick_;
    std::optional<ServiceState> state_;
    Sight absent_;
};

/// A program for each cue and announcement.
class HookTeller final : public ServiceFollower {
public:
    explicit HookTeller(sys::EventLoop& loop, Hook& hook) : loop_(loop), hook_(hook) {}

    void shown(const ServiceState& state) override;
    void announced(const std::string& name) override;
    void absent(Absent why, const std::string& detail) override;

private:
    sys::EventLoop& loop_;
    Hook& hook_;
    std::optional<ServiceState> last_;
};

}  // namespace nightlatch::tool
