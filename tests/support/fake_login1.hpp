// SPDX-License-Identifier: MIT
#pragma once

#include "base/handle.hpp"

#include <cstdint>
#include <list>
#include <set>
#include <string>
#include <vector>

#include <systemd/sd-bus.h>

namespace nightlatch::test {

using BusHandle = Handle<sd_bus, sd_bus_close_unref>;
using MessageHandle = Handle<sd_bus_message, sd_bus_message_unref>;

/// Another program's inhibitor lock.
struct FakeLock {
    std::string what = "shutdown";
    std::string who;
    std::string why;
    std::string mode = "block";
    std::uint32_t uid = 0;
    std::uint32_t pid = 0;
};

/// What becomes of a request that neither policy nor locks forbid.
enum class FakeOutcome : unsigned char {
    accepts,        ///< PrepareForShutdown(true), then the reply, as the real one does it
    never_answers,  ///< PrepareForShutdown(true), and no reply, ever
    keeps_silent,   ///< neither signal nor reply: it hangs
    holds_answer,   ///< accepts, but the reply leaves with let_answer() only
    cannot_start,   ///< true, false, then an error reply
    in_progress,    ///< an operation is under way already: a sleep, unless `preparing`
};

/// What becomes of the question for PreparingForShutdown.
enum class FakeTelling : unsigned char { tells, fails, keeps_silent };

/// How this manager is, as far as the versions differ in it.
struct FakeManners {
    /// 245 has no calls with flags; 252 asks polkit about locks; 255 tells the kind of shutdown;
    /// 257 has block-weak and a flag to pass locks, and refuses outright without it; 258 has an
    /// error name of its own for that [org.freedesktop.login1(5) and systemd's NEWS].
    int version = 257;
    bool may_ask = true;          ///< polkit lets the caller power off and reboot
    bool may_delay = true;        ///< polkit lets the caller take delay locks
    bool may_pass_locks = false;  ///< polkit's ...-ignore-inhibit
    FakeOutcome outcome = FakeOutcome::accepts;
    bool preparing = false;
    FakeTelling telling = FakeTelling::tells;
    bool answers_lists = true;  ///< ListInhibitors() is answered
    std::vector<FakeLock> locks;
    std::vector<FakeLock> locks_taken_meanwhile;  ///< taken right after the list was read
};

/// A stand-in for the login manager on a bus of the test's own, in the test's own event loop: an
/// adapter that waited for it would hang here. Keeps a record of what was asked of it.
class FakeLogin1 {
public:
    /// Connects to $DBUS_SYSTEM_BUS_ADDRESS and takes the name.
    FakeLogin1(sd_event* loop, FakeManners manners);
    ~FakeLogin1();
    FakeLogin1(const FakeLogin1&) = delete;
    FakeLogin1& operator=(const FakeLogin1&) = delete;

    FakeManners manners;

    /// Every call in order, but for properties: "ListInhibitors", "PowerOffWithFlags 1", "Inhibit
    /// shutdown delay", ...
    [[nodiscard]] const std::vector<std::string>& calls() const { return calls_; }

    /// The calls that would have switched the machine off or over.
    [[nodiscard]] std::vector<std::string> requests() const;

    /// Delay locks that it has given out and that are still held.
    [[nodiscard]] std::size_t held_locks() const { return given_.size(); }

    /// How often it was asked for PreparingForShutdown.
    [[nodiscard]] int questions() const { return questions_; }

    [[nodiscard]] bool holds_an_answer() const { return held_answer_ != nullptr; }

    void let_answer();

    /// PrepareForShutdown, with its kind first where the version has that ("" for none).
    void prepare_for_shutdown(bool active, const std::string& kind = {});
    void prepare_for_sleep(bool active);

    /// Gives the name up but stays connected: what was asked of it gets no error from the bus.
    void release_name();

    // Called by sd-bus.
    int on_list(sd_bus_message* call);
    int on_request(sd_bus_message* call, sd_bus_error* error);
    int on_can(sd_bus_message* call);
    int on_get(sd_bus_message* call);
    int on_inhibit(sd_bus_message* call, sd_bus_error* error);
    void on_lock_let_go(int fd);

private:
    struct GivenLock {
        FakeLogin1* giver;
        int fd;
        sd_event_source* source;
    };

    void record(std::string call) { calls_.push_back(std::move(call)); }

    int check_locks(std::uint64_t flags, sd_bus_error* error) const;
    int carry_out(sd_bus_message* call, sd_bus_error* error);
    void emit_flag(const char* member, bool active);

    sd_event* loop_;
    BusHandle bus_;
    std::vector<std::string> calls_;
    std::list<GivenLock> given_;
    MessageHandle held_answer_;
    int questions_ = 0;
    std::string kind_;  ///< of the request being carried out
};

/// A stand-in for polkit on the same bus: what the asking connection is authorised to do.
class FakePolkit {
public:
    FakePolkit(sd_event* loop, std::set<std::string> authorised);

    [[nodiscard]] const std::vector<std::string>& asked() const { return asked_; }

    /// Whom it was asked about, by the name on the bus.
    [[nodiscard]] const std::vector<std::string>& subjects() const { return subjects_; }

    /// Keeps every question, answers none.
    bool silent = false;

    /// Who asks is named as the owner of the actions, and may ask about others, too.
    bool asked_by_owner = false;

    int on_check(sd_bus_message* call);

private:
    std::set<std::string> authorised_;
    std::vector<std::string> asked_;
    std::vector<std::string> subjects_;
    BusHandle bus_;
};

/// A stand-in for the service manager, which a bus with "systemd activation" asks to start a name's
/// unit: it fails every start with this error.
class FakeActivator {
public:
    FakeActivator(sd_event* loop, std::string error, std::string text);

    [[nodiscard]] const std::vector<std::string>& asked() const { return asked_; }

    int on_request(sd_bus_message* signal);

private:
    std::string error_;
    std::string text_;
    std::vector<std::string> asked_;
    BusHandle bus_;
};

/// A connection to $DBUS_SYSTEM_BUS_ADDRESS, served by `loop`.
BusHandle connect_to_bus(sd_event* loop);

}  // namespace nightlatch::test
