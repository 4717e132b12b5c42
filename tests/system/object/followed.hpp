// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/object.hpp"
#include "support/fake_login1.hpp"
#include "support/virtual_board.hpp"
#include "system/login/private_bus.hpp"
#include "system/login/stage.hpp"

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <sys/types.h>

namespace nightlatch::test {

using Events = std::vector<rehearsal::ScriptEvent>;
using Strings = std::vector<std::string>;

/// An account that is not root's.
constexpr uid_t nobody = 65534;

/// Does this as another account (root only). The account of a connection is that of the process
/// when it is made [unix(7), SO_PEERCRED].
void as_account(uid_t account, const std::function<void()>& does);

/// A program that follows, with a connection of its own to $DBUS_SYSTEM_BUS_ADDRESS.
class Client {
public:
    struct Change {
        Strings names;
        Strings invalidated;
        std::string cue;    ///< empty where it is not in it
        std::string level;  ///< the same
    };

    /// Of our own account, or (root only) of another.
    explicit Client(sd_event* loop, std::optional<uid_t> account = std::nullopt);

    std::vector<Change> changes;
    Strings announced;
    /// What came of each call, in the order of the answers: "", or the error's name.
    Strings answers;
    Strings texts;  ///< what the answers say: an error's words, a string, a variant or its type
    std::map<std::string, std::string> entries;  ///< of the last dictionary that came: its strings

    /// A call of the object without arguments, or with strings.
    void call(const char* interface, const char* member, const Strings& arguments = {});

    void call_off() { call(bus::object_interface, "CallOff"); }

    [[nodiscard]] std::string name() const;

    [[nodiscard]] sd_bus* raw() const { return bus_.get(); }

    // Called by sd-bus.
    void on_changed(sd_bus_message* signal);
    void on_announced(sd_bus_message* signal);
    void on_answer(sd_bus_message* reply);

private:
    bus::BusHandle bus_;
};

/// The object on a bus of the test's own, before the App on a simulated chip in virtual time: the
/// bus takes its time, and the board's is the test's.
class Followed {
public:
    explicit Followed(config::Settings settings = testing::pontoon_settings(),
                      Events events = {},
                      Duration patience = 2s,
                      testing::BoardExtras extras = {});

    PrivateBus bus;
    std::unique_ptr<sys::EventLoop> loop;
    RecordingJournal journal;
    bus::Bus connection;
    bus::Object object;
    testing::VirtualBoard board;

    /// Bus and connection; waits until the object has its name.
    void start();

    [[nodiscard]] bool await(const std::function<bool()>& is_so);

    /// What the object has sent has arrived at the client.
    void settle(Client& client);

    /// Asks for a property, and gives what it says.
    std::string get(Client& client, const char* property);

    /// Calls off, and gives what came of it.
    std::string call_off(Client& client);
};

}  // namespace nightlatch::test
