// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "daemon/bus/bus.hpp"
#include "daemon/bus/gate.hpp"
#include "supervisor/publisher.hpp"

#include <cstddef>
#include <deque>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::bus {

constexpr const char* object_name = "org.nightlatch.Nightlatch1";
constexpr const char* object_path = "/org/nightlatch/Nightlatch1";
constexpr const char* object_interface = "org.nightlatch.Nightlatch1";
constexpr const char* nothing_to_call_off = "org.nightlatch.Nightlatch1.Error.NothingToCallOff";
constexpr const char* call_off_action = "org.nightlatch.Nightlatch1.call-off";

/// Our object on the system bus, for programs that follow. What changed together leaves in one
/// signal, from the loop's next turn; nothing leaves while nothing changes. While the bus takes
/// nothing, nothing is piled up for it: what holds when it takes something again is sent then.
/// Nobody waits for any of it.
class Object final : public BusUser, public supervisor::Follower {
public:
    /// All that it is given must outlive it.
    struct Surroundings {
        sys::EventLoop& loop;
        Bus& bus;  ///< of which it becomes a user
        ports::Journal& journal;
        std::function<std::optional<Level>()> level;  ///< of the button, as settled
        std::function<void()> call_off;  ///< leads to a CallOffAnswered, at once or later
        Duration patience = std::chrono::seconds(2);  ///< with the bus and polkit, for a call-off
    };

    Object(Surroundings around, supervisor::Publisher::Constant constant);

    void happened(const supervisor::Event& event) override;

    /// How the configuration's file stands; `trouble`: of a bad one.
    void on_disk(supervisor::OnDisk state, const std::string& trouble);

    void bus_connected(sd_bus* bus) override;
    void bus_lost() override;

    /// Announcements that wait for the bus; more are lost, the oldest first.
    static constexpr std::size_t most_announcements = 8;

    // For the table of what the object has (object_table.cpp).

    [[nodiscard]] const supervisor::Published& now() const noexcept { return published_.now(); }

    [[nodiscard]] std::optional<Level> level() const { return around_.level(); }

    void on_call_off(sd_bus_message* call) { gate_.knock(call); }

private:
    void ask_for_name();
    void on_name(sd_bus_message* reply);
    void on_owner_changed(sd_bus_message* signal);
    void no_name(const std::string& why);
    void call_off(Caller caller);
    void answer_call_off(bool done);
    void announce(const std::string& name);
    void send_changes();
    void send_announcements();
    [[nodiscard]] bool bus_is_full() const;

    Surroundings around_;
    supervisor::Publisher published_;
    Gate gate_;
    sys::Deferred changed_;   ///< what changed is sent
    sys::EachTurn watching_;  ///< on while the bus is full
    sd_bus* bus_ = nullptr;
    Slot object_;
    Slot name_;
    Slot owner_;
    bool named_ = false;
    bool full_ = false;  ///< when it was looked at last
    bool said_no_name_ = false;
    std::deque<std::string> announcements_;
    std::uint64_t lost_announcements_ = 0;
    std::deque<Caller> callers_;  ///< that were let in, and wait for what comes of it
};

/// What the object has: a null-terminated table of sd-bus's [sd_bus_add_object_vtable(3)]. It works
/// on an Object.
const sd_bus_vtable* object_table() noexcept;

/// The name on the bus of what changes.
std::string_view name_of(supervisor::Property property) noexcept;

/// The signal that tells those properties' values; null where there is no memory or no connection.
MessageHandle changed_properties(const Object& object,
                                 sd_bus* bus,
                                 const std::vector<std::string_view>& names);

}  // namespace nightlatch::bus
