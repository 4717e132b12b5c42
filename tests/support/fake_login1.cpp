// SPDX-License-Identifier: MIT
#include "support/fake_login1.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <fcntl.h>
#include <sys/epoll.h>
#include <unistd.h>

namespace nightlatch::test {
namespace {

constexpr const char* login_name = "org.freedesktop.login1";
constexpr const char* login_path = "/org/freedesktop/login1";
constexpr const char* manager_interface = "org.freedesktop.login1.Manager";
constexpr const char* access_denied = "org.freedesktop.DBus.Error.AccessDenied";
constexpr const char* needs_interaction =
    "org.freedesktop.DBus.Error.InteractiveAuthorizationRequired";
constexpr const char* operation_in_progress = "org.freedesktop.login1.OperationInProgress";

constexpr std::uint64_t skip_inhibitors = 1U << 4;

FakeLogin1& self_of(void* userdata) {
    return *static_cast<FakeLogin1*>(userdata);
}

int list_inhibitors(sd_bus_message* call, void* userdata, sd_bus_error* /*error*/) noexcept {
    return self_of(userdata).on_list(call);
}

int request(sd_bus_message* call, void* userdata, sd_bus_error* error) noexcept {
    return self_of(userdata).on_request(call, error);
}

int can(sd_bus_message* call, void* userdata, sd_bus_error* /*error*/) noexcept {
    return self_of(userdata).on_can(call);
}

/// Before sd-bus answers for a property by itself.
int filter(sd_bus_message* message, void* userdata, sd_bus_error* /*error*/) noexcept {
    return sd_bus_message_is_method_call(message, "org.freedesktop.DBus.Properties", "Get") > 0
               ? self_of(userdata).on_get(message)
               : 0;
}

int inhibit(sd_bus_message* call, void* userdata, sd_bus_error* error) noexcept {
    return self_of(userdata).on_inhibit(call, error);
}

// sd-bus gives a property's getter seven parameters. NOLINTNEXTLINE(readability-function-size)
int get_preparing(sd_bus* /*bus*/,
                  const char* /*path*/,
                  const char* /*interface*/,
                  const char* /*property*/,
                  sd_bus_message* reply,
                  void* userdata,
                  sd_bus_error* /*error*/) noexcept {
    return sd_bus_message_append(reply, "b", self_of(userdata).manners.preparing ? 1 : 0);
}

constexpr std::uint64_t open_to_all = SD_BUS_VTABLE_UNPRIVILEGED;

const sd_bus_vtable manager_table[] = {
    SD_BUS_VTABLE_START(0),
    SD_BUS_METHOD("ListInhibitors", "", "a(ssssuu)", list_inhibitors, open_to_all),
    SD_BUS_METHOD("Inhibit", "ssss", "h", inhibit, open_to_all),
    SD_BUS_METHOD("CanPowerOff", "", "s", can, open_to_all),
    SD_BUS_METHOD("CanReboot", "", "s", can, open_to_all),
    SD_BUS_METHOD("PowerOff", "b", "", request, open_to_all),
    SD_BUS_METHOD("Reboot", "b", "", request, open_to_all),
    SD_BUS_PROPERTY("PreparingForShutdown", "b", get_preparing, 0, 0),
    SD_BUS_SIGNAL("PrepareForShutdown", "b", 0),
    SD_BUS_SIGNAL("PrepareForSleep", "b", 0),
    SD_BUS_VTABLE_END,
};

const sd_bus_vtable flags_table[] = {
    SD_BUS_VTABLE_START(0),
    SD_BUS_METHOD("PowerOffWithFlags", "t", "", request, open_to_all),
    SD_BUS_METHOD("RebootWithFlags", "t", "", request, open_to_all),
    SD_BUS_VTABLE_END,
};

const sd_bus_vtable metadata_table[] = {
    SD_BUS_VTABLE_START(0),
    SD_BUS_SIGNAL("PrepareForShutdownWithMetadata", "ba{sv}", 0),
    SD_BUS_VTABLE_END,
};

int lock_let_go(sd_event_source* /*source*/,
                int fd,
                std::uint32_t /*events*/,
                void* userdata) noexcept {
    self_of(userdata).on_lock_let_go(fd);
    return 0;
}

bool names_shutdown(const std::string& what) {
    return (":" + what + ":").find(":shutdown:") != std::string::npos;
}

}  // namespace

BusHandle connect_to_bus(sd_event* loop) {
    sd_bus* bus = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_open_system(&bus) >= 0);
    NIGHTLATCH_ENSURE(sd_bus_attach_event(bus, loop, SD_EVENT_PRIORITY_NORMAL) >= 0);
    return BusHandle{bus};
}

FakeLogin1::FakeLogin1(sd_event* loop, FakeManners its_manners)
    : manners(std::move(its_manners)), loop_(loop), bus_(connect_to_bus(loop)) {
    const auto add = [this](const sd_bus_vtable* table) {
        NIGHTLATCH_ENSURE(sd_bus_add_object_vtable(
                              bus_.get(), nullptr, login_path, manager_interface, table, this) >=
                          0);
    };
    NIGHTLATCH_ENSURE(sd_bus_add_filter(bus_.get(), nullptr, filter, this) >= 0);
    add(manager_table);
    if (manners.version >= 246) {
        add(flags_table);
    }
    if (manners.version >= 255) {
        add(metadata_table);
    }
    NIGHTLATCH_ENSURE(sd_bus_request_name(bus_.get(), login_name, 0) >= 0);
}

FakeLogin1::~FakeLogin1() {
    for (GivenLock& lock : given_) {
        sd_event_source_disable_unref(lock.source);
        close(lock.fd);
    }
}

std::vector<std::string> FakeLogin1::requests() const {
    std::vector<std::string> found;
    std::copy_if(calls_.begin(), calls_.end(), std::back_inserter(found), [](const auto& call) {
        return call.starts_with("PowerOff") || call.starts_with("Reboot");
    });
    return found;
}

int FakeLogin1::on_list(sd_bus_message* call) {
    record("ListInhibitors");
    if (!manners.answers_lists) {
        return 1;
    }
    sd_bus_message* reply = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_message_new_method_return(call, &reply) >= 0);
    const MessageHandle owned{reply};
    NIGHTLATCH_ENSURE(sd_bus_message_open_container(reply, 'a', "(ssssuu)") >= 0);
    std::vector<FakeLock> locks = manners.locks;
    // The real list holds the asking service's own delay lock too.
    locks.insert(
        locks.end(), given_.size(), FakeLock{"shutdown", "its own", "delays", "delay", 1, 1});
    for (const FakeLock& lock : locks) {
        NIGHTLATCH_ENSURE(sd_bus_message_append(reply,
                                                "(ssssuu)",
                                                lock.what.c_str(),
                                                lock.who.c_str(),
                                                lock.why.c_str(),
                                                lock.mode.c_str(),
                                                lock.uid,
                                                lock.pid) >= 0);
    }
    NIGHTLATCH_ENSURE(sd_bus_message_close_container(reply) >= 0);
    manners.locks.insert(manners.locks.end(),
                         manners.locks_taken_meanwhile.begin(),
                         manners.locks_taken_meanwhile.end());
    manners.locks_taken_meanwhile.clear();
    return sd_bus_send(bus_.get(), reply, nullptr);
}

int FakeLogin1::on_request(sd_bus_message* call, sd_bus_error* error) {
    const std::string member = sd_bus_message_get_member(call);
    std::uint64_t flags = 0;
    if (sd_bus_message_has_signature(call, "t") > 0) {
        NIGHTLATCH_ENSURE(sd_bus_message_read(call, "t", &flags) >= 0);
        record(member + " " + std::to_string(flags));
    } else {
        int interactive = 0;
        NIGHTLATCH_ENSURE(sd_bus_message_read(call, "b", &interactive) >= 0);
        record(member + (interactive != 0 ? " true" : " false"));
    }
    std::uint64_t known = manners.version >= 254 ? 0x0fU : 0x03U;
    known |= manners.version >= 257 ? skip_inhibitors : 0;
    if ((flags & ~known) != 0) {
        return sd_bus_error_set(
            error, "org.freedesktop.DBus.Error.InvalidArgs", "Invalid flags parameter");
    }
    if (manners.preparing || manners.outcome == FakeOutcome::in_progress) {
        return sd_bus_error_set(error,
                                operation_in_progress,
                                "There's already a shutdown or sleep operation in progress");
    }
    if (!manners.may_ask) {
        return sd_bus_error_set(error, needs_interaction, "Interactive authentication required.");
    }
    if (const int r = check_locks(flags, error); r < 0) {
        return r;
    }
    kind_ = member.starts_with("Reboot") ? "reboot" : "power-off";
    return carry_out(call, error);
}

/// The rules of the versions, for a caller that is not root (the first flag concerns root alone).
int FakeLogin1::check_locks(std::uint64_t flags, sd_bus_error* error) const {
    const auto blocks = [](const FakeLock& lock) {
        return lock.mode.starts_with("block") && names_shutdown(lock.what);
    };
    const auto lock = std::find_if(manners.locks.begin(), manners.locks.end(), blocks);
    if (lock == manners.locks.end()) {
        return 0;
    }
    const bool strong = manners.version >= 257 && lock->mode == "block";
    if (strong && (flags & skip_inhibitors) == 0) {
        return manners.version >= 258
                   ? sd_bus_error_set(error,
                                      "org.freedesktop.login1.BlockedByInhibitorLock",
                                      "Operation denied due to active block inhibitor")
                   : sd_bus_error_set(
                         error, access_denied, "Access denied due to active block inhibitor");
    }
    return manners.may_pass_locks
               ? 0
               : sd_bus_error_set(error, needs_interaction, "Interactive authentication required.");
}

/// Its answers since 257 tell a lock from policy.
int FakeLogin1::on_can(sd_bus_message* call) {
    record(sd_bus_message_get_member(call));
    const bool locked = check_locks(0, nullptr) < 0;
    const char* said = "yes";
    if (!manners.may_ask) {
        said = "challenge";
    } else if (locked) {
        said = manners.version >= 257 ? "inhibitor-blocked" : "challenge";
    }
    return sd_bus_reply_method_return(call, "s", said);
}

int FakeLogin1::on_get(sd_bus_message* call) {
    ++questions_;
    switch (manners.telling) {
    case FakeTelling::tells:
        return 0;
    case FakeTelling::fails:
        return sd_bus_reply_method_errorf(call, access_denied, "Permission denied");
    case FakeTelling::keeps_silent:
        break;
    }
    return 1;
}

int FakeLogin1::carry_out(sd_bus_message* call, sd_bus_error* error) {
    if (manners.outcome == FakeOutcome::keeps_silent) {
        return 1;
    }
    prepare_for_shutdown(true, kind_);
    switch (manners.outcome) {
    case FakeOutcome::accepts:
        return sd_bus_reply_method_return(call, "");
    case FakeOutcome::holds_answer:
        held_answer_.reset(sd_bus_message_ref(call));
        return 1;
    case FakeOutcome::cannot_start:
        prepare_for_shutdown(false, kind_);
        return sd_bus_error_set(
            error, "org.freedesktop.systemd1.UnitMasked", "Unit poweroff.target is masked.");
    case FakeOutcome::never_answers:
    case FakeOutcome::keeps_silent:
    case FakeOutcome::in_progress:
        break;
    }
    return 1;
}

void FakeLogin1::let_answer() {
    NIGHTLATCH_ENSURE(held_answer_ != nullptr);
    NIGHTLATCH_ENSURE(sd_bus_reply_method_return(held_answer_.get(), "") >= 0);
    held_answer_.reset();
}

int FakeLogin1::on_inhibit(sd_bus_message* call, sd_bus_error* error) {
    const char* what = nullptr;
    const char* who = nullptr;
    const char* why = nullptr;
    const char* mode = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_message_read(call, "ssss", &what, &who, &why, &mode) >= 0);
    record(std::string("Inhibit ") + what + " " + mode);
    if (!manners.may_delay) {
        return sd_bus_error_set(error, access_denied, "Permission denied");
    }
    if (manners.preparing) {
        return sd_bus_error_set(
            error,
            operation_in_progress,
            "The operation inhibition has been requested for is already running");
    }
    std::array<int, 2> ends{};
    NIGHTLATCH_ENSURE(pipe2(ends.data(), O_CLOEXEC | O_NONBLOCK) == 0);
    given_.push_back({this, ends[0], nullptr});
    NIGHTLATCH_ENSURE(
        sd_event_add_io(loop_, &given_.back().source, ends[0], EPOLLIN, lock_let_go, this) >= 0);
    const int r = sd_bus_reply_method_return(call, "h", ends[1]);
    close(ends[1]);
    return r;
}

void FakeLogin1::on_lock_let_go(int fd) {
    const auto lock = std::find_if(
        given_.begin(), given_.end(), [fd](const GivenLock& given) { return given.fd == fd; });
    NIGHTLATCH_ENSURE(lock != given_.end());
    sd_event_source_disable_unref(lock->source);
    close(fd);
    given_.erase(lock);
}

void FakeLogin1::emit_flag(const char* member, bool active) {
    NIGHTLATCH_ENSURE(sd_bus_emit_signal(
                          bus_.get(), login_path, manager_interface, member, "b", active ? 1 : 0) >=
                      0);
}

void FakeLogin1::prepare_for_shutdown(bool active, const std::string& kind) {
    manners.preparing = active;
    if (manners.version >= 255) {
        NIGHTLATCH_ENSURE(sd_bus_emit_signal(bus_.get(),
                                             login_path,
                                             manager_interface,
                                             "PrepareForShutdownWithMetadata",
                                             "ba{sv}",
                                             active ? 1 : 0,
                                             2,
                                             "reserved",
                                             "t",
                                             std::uint64_t{0},
                                             "type",
                                             "s",
                                             kind.c_str()) >= 0);
    }
    emit_flag("PrepareForShutdown", active);
}

void FakeLogin1::prepare_for_sleep(bool active) {
    emit_flag("PrepareForSleep", active);
}

void FakeLogin1::release_name() {
    NIGHTLATCH_ENSURE(sd_bus_release_name(bus_.get(), login_name) >= 0);
}

// --- polkit --------------------------------------------------------------------------------------

namespace {

int check_authorization(sd_bus_message* call, void* userdata, sd_bus_error* /*error*/) noexcept {
    return static_cast<FakePolkit*>(userdata)->on_check(call);
}

const sd_bus_vtable authority_table[] = {
    SD_BUS_VTABLE_START(0),
    SD_BUS_METHOD(
        "CheckAuthorization", "(sa{sv})sa{ss}us", "(bba{ss})", check_authorization, open_to_all),
    SD_BUS_VTABLE_END,
};

}  // namespace

FakePolkit::FakePolkit(sd_event* loop, std::set<std::string> authorised)
    : authorised_(std::move(authorised)), bus_(connect_to_bus(loop)) {
    NIGHTLATCH_ENSURE(sd_bus_add_object_vtable(bus_.get(),
                                               nullptr,
                                               "/org/freedesktop/PolicyKit1/Authority",
                                               "org.freedesktop.PolicyKit1.Authority",
                                               authority_table,
                                               this) >= 0);
    NIGHTLATCH_ENSURE(sd_bus_request_name(bus_.get(), "org.freedesktop.PolicyKit1", 0) >= 0);
}

int FakePolkit::on_check(sd_bus_message* call) {
    const char* subject = nullptr;
    const char* key = nullptr;
    const char* name = nullptr;
    const char* action = nullptr;
    const char* cancellation = nullptr;
    std::uint32_t flags = 0;
    NIGHTLATCH_ENSURE(sd_bus_message_enter_container(call, 'r', "sa{sv}") > 0);
    NIGHTLATCH_ENSURE(sd_bus_message_read(call, "s", &subject) > 0);
    NIGHTLATCH_ENSURE(sd_bus_message_enter_container(call, 'a', "{sv}") > 0);
    NIGHTLATCH_ENSURE(sd_bus_message_read(call, "{sv}", &key, "s", &name) > 0);
    NIGHTLATCH_ENSURE(sd_bus_message_exit_container(call) > 0);
    NIGHTLATCH_ENSURE(sd_bus_message_exit_container(call) > 0);
    NIGHTLATCH_ENSURE(sd_bus_message_read(call, "s", &action) > 0);
    NIGHTLATCH_ENSURE(sd_bus_message_skip(call, "a{ss}") >= 0);
    NIGHTLATCH_ENSURE(sd_bus_message_read(call, "us", &flags, &cancellation) > 0);
    // Everybody may ask about himself; about others only root and an action's owner may.
    const bool by_name = std::string(subject) == "system-bus-name" && std::string(key) == "name";
    const bool may_ask = asked_by_owner || std::string(name) == sd_bus_message_get_sender(call);
    const bool rightly = by_name && may_ask && flags == 0;
    asked_.push_back(std::string(action) + (rightly ? "" : " (wrongly)"));
    subjects_.emplace_back(name);
    if (silent) {
        return 1;
    }
    return sd_bus_reply_method_return(
        call, "(bba{ss})", authorised_.contains(action) ? 1 : 0, 0, 0);
}

// --- the service manager -------------------------------------------------------------------------

namespace {

int activation_request(sd_bus_message* signal, void* userdata, sd_bus_error* /*error*/) noexcept {
    return static_cast<FakeActivator*>(userdata)->on_request(signal);
}

}  // namespace

FakeActivator::FakeActivator(sd_event* loop, std::string error, std::string text)
    : error_(std::move(error)), text_(std::move(text)), bus_(connect_to_bus(loop)) {
    NIGHTLATCH_ENSURE(sd_bus_match_signal(bus_.get(),
                                          nullptr,
                                          "org.freedesktop.DBus",
                                          "/org/freedesktop/DBus",
                                          "org.freedesktop.systemd1.Activator",
                                          "ActivationRequest",
                                          activation_request,
                                          this) >= 0);
    NIGHTLATCH_ENSURE(sd_bus_request_name(bus_.get(), "org.freedesktop.systemd1", 0) >= 0);
}

int FakeActivator::on_request(sd_bus_message* signal) {
    const char* unit = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_message_read(signal, "s", &unit) > 0);
    asked_.emplace_back(unit);
    sd_bus_message* made = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_message_new_signal(bus_.get(),
                                                &made,
                                                "/org/freedesktop/systemd1",
                                                "org.freedesktop.systemd1.Activator",
                                                "ActivationFailure") >= 0);
    const MessageHandle failure{made};
    NIGHTLATCH_ENSURE(sd_bus_message_append(made, "sss", unit, error_.c_str(), text_.c_str()) >= 0);
    NIGHTLATCH_ENSURE(sd_bus_message_set_destination(made, "org.freedesktop.DBus") >= 0);
    return sd_bus_send(bus_.get(), made, nullptr);
}

}  // namespace nightlatch::test
