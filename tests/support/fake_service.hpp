// SPDX-License-Identifier: MIT
#pragma once

#include "support/fake_login1.hpp"

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace nightlatch::test {

/// What the stand-in shows; as the tool reads it, but for the times, which are microseconds.
struct FakeShown {
    std::string cue = "rest";
    std::uint64_t since = 81'000'000;
    std::uint64_t until = UINT64_MAX;
    std::string stage;
    std::vector<std::pair<std::string, std::string>> stages{{"off", "power-off"}};  ///< 3 s each
    std::string reason;
    std::map<std::string, std::string> reason_texts;
    std::vector<std::pair<std::string, bool>> alarms{{"battery low", false}};
    std::string post_halt = "configured";
    bool watching = true;
    std::string level = "released";
    std::string path = "/etc/nightlatch/nightlatch.toml";
    std::string on_disk = "same";
    std::string trouble;
};

/// A stand-in for the service's object on $DBUS_SYSTEM_BUS_ADDRESS, in the test's own loop: after
/// org.nightlatch.Nightlatch1.xml, which a test holds it to.
class FakeService {
public:
    FakeService(sd_event* loop, FakeShown shown);
    FakeService(const FakeService&) = delete;
    FakeService& operator=(const FakeService&) = delete;
    ~FakeService() = default;

    FakeShown shown;

    /// How often everything was asked for.
    int asked_for_all = 0;
    int heard_all = 0;        ///< how many of those who asked have read all that was told them
    bool answers = true;      ///< else it takes what it is asked, and says nothing
    bool tells_level = true;  ///< with each change; older services did not
    /// Before GetAll is answered: what happens meanwhile.
    std::vector<FakeShown> changes_before_answer;
    /// The error of CallOff; empty: it is called off.
    std::string call_off_error;
    int called_off = 0;

    /// Shows another state: all that may have changed, in one PropertiesChanged.
    void change(const FakeShown& to);
    void announce(const std::string& name);
    /// Asks everyone who asked for everything for a sign of life, which comes after it: heard_all.
    void ask_who_heard_all();

    // Called by sd-bus.
    int on_any(sd_bus_message* call);
    int on_call_off(sd_bus_message* call, sd_bus_error* error);

private:
    BusHandle bus_;
    std::vector<std::string> askers_;
};

/// The published properties of the vtable, "Name type", in its order.
std::vector<std::string> fake_properties();

}  // namespace nightlatch::test
