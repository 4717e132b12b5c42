// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/sd_bus.hpp"
#include "daemon/sys/event_loop.hpp"

#include <cstdint>
#include <functional>
#include <list>
#include <string>

namespace nightlatch::bus {

/// A call of ours that was let in.
struct Caller {
    MessageHandle call;
    std::uint32_t uid = 0;
    std::string name;  ///< unique, on the bus
};

/// Lets a call in when its caller may do what an action of polkit's names: root may, of others
/// polkit is asked. Answers those that it turns away. Nothing here blocks; the caller's account is
/// what the bus says. Without polkit only root may.
class Gate {
public:
    /// `patience`: for the bus and polkit together. `let_in` is called from the event loop, later
    /// than knock().
    Gate(sys::EventLoop& loop,
         const char* action,
         Duration patience,
         std::function<void(Caller)> let_in);

    /// A connection begins, or (null) has ended: nobody waits for an answer any more.
    void connection(sd_bus* bus);

    void knock(sd_bus_message* call);

    /// More at once are turned away.
    static constexpr std::size_t most_questions = 8;

private:
    struct Question {
        Gate& gate;
        Instant until;
        Caller caller;
        Slot asked{};  ///< of the bus, then of polkit

        void on_uid(sd_bus_message* reply);
        void on_authorized(sd_bus_message* reply);
    };

    void let_in(Question& question);
    void turn_away(Question& question, const std::string& why);
    Caller take_out(Question& question);
    void pass_deadline();

    sys::Timer timer_;
    sys::EventLoop& loop_;
    const char* action_;
    Duration patience_;
    std::function<void(Caller)> let_in_;
    sd_bus* bus_ = nullptr;
    std::list<Question> questions_;  ///< oldest first
};

}  // namespace nightlatch::bus
