// SPDX-License-Identifier: MIT
#include "base/ensure.hpp"
#include "base/handle.hpp"
#include "daemon/login/facts.hpp"
#include "system/login/private_bus.hpp"

#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <thread>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <sys/eventfd.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <systemd/sd-bus.h>
#include <systemd/sd-event.h>
#include <unistd.h>

using namespace nightlatch;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;

namespace {

/// What the stand-ins say; a property that is in neither map is unknown.
struct Manners {
    std::map<std::string, std::string> texts{{"HandlePowerKey", "poweroff"},
                                             {"HandlePowerKeyLongPress", "ignore"},
                                             {"BlockInhibited", "handle-power-key"}};
    std::map<std::string, std::uint64_t> times{{"InhibitDelayMaxUSec", 5'000'000},
                                               {"DefaultTimeoutStopUSec", 90'000'000},
                                               {"RuntimeWatchdogUSec", 0},
                                               {"RebootWatchdogUSec", UINT64_MAX}};
    std::uint32_t main_pid = static_cast<std::uint32_t>(getpid());
    std::set<std::string> names{
        "org.freedesktop.login1", "org.freedesktop.systemd1", "org.freedesktop.PolicyKit1"};
    std::set<std::string> authorised;
    bool trusts_us = true;  ///< polkit answers about others
    bool silent = false;    ///< keeps every question, answers none
};

using Loop = Handle<sd_event, sd_event_unref>;
using Bus = Handle<sd_bus, sd_bus_close_unref>;

/// The three services in a loop and a thread of their own, as the reader waits for its answers.
class Answerers {
public:
    explicit Answerers(Manners manners)
        : manners_(std::move(manners)), stop_(eventfd(0, EFD_CLOEXEC)) {
        sd_event* loop = nullptr;
        sd_bus* bus = nullptr;
        NIGHTLATCH_ENSURE(sd_event_new(&loop) >= 0 && sd_bus_open_system(&bus) >= 0);
        loop_.reset(loop);
        bus_.reset(bus);
        for (const char* path : {"/org/freedesktop/login1",
                                 "/org/freedesktop/systemd1",
                                 "/org/freedesktop/systemd1/unit/nightlatch_2eservice",
                                 "/org/freedesktop/PolicyKit1/Authority"}) {
            NIGHTLATCH_ENSURE(sd_bus_add_object(bus, nullptr, path, answer, this) >= 0);
        }
        for (const std::string& name : manners_.names) {
            NIGHTLATCH_ENSURE(sd_bus_request_name(bus, name.c_str(), 0) >= 0);
        }
        NIGHTLATCH_ENSURE(sd_bus_attach_event(bus, loop, 0) >= 0);
        NIGHTLATCH_ENSURE(sd_event_add_io(loop, nullptr, stop_, EPOLLIN, end, nullptr) >= 0);
        thread_ = std::thread([loop] { sd_event_loop(loop); });
    }

    Answerers(const Answerers&) = delete;
    Answerers& operator=(const Answerers&) = delete;

    ~Answerers() {
        eventfd_write(stop_, 1);
        thread_.join();
        sd_bus_detach_event(bus_.get());
        bus_.reset();
        close(stop_);
    }

    /// Only after the reader has its answers.
    std::vector<std::string> asked;

private:
    static int end(sd_event_source* source, int, std::uint32_t, void*) noexcept {
        return sd_event_exit(sd_event_source_get_event(source), 0);
    }

    static int answer(sd_bus_message* call, void* self, sd_bus_error* error) noexcept {
        auto& me = *static_cast<Answerers*>(self);
        if (me.manners_.silent) {
            return 1;
        }
        const std::string member = sd_bus_message_get_member(call);
        if (member == "Get") {
            return me.property(call, error);
        }
        return member == "ListInhibitors" ? locks(call) : me.check(call, error);
    }

    int property(sd_bus_message* call, sd_bus_error* error) const {
        const char* interface = nullptr;
        const char* name = nullptr;
        NIGHTLATCH_ENSURE(sd_bus_message_read(call, "ss", &interface, &name) > 0);
        if (const auto text = manners_.texts.find(name); text != manners_.texts.end()) {
            return sd_bus_reply_method_return(call, "v", "s", text->second.c_str());
        }
        if (const auto time = manners_.times.find(name); time != manners_.times.end()) {
            return sd_bus_reply_method_return(call, "v", "t", time->second);
        }
        if (std::string_view(name) == "MainPID") {
            return sd_bus_reply_method_return(call, "v", "u", manners_.main_pid);
        }
        return sd_bus_error_set(
            error, "org.freedesktop.DBus.Error.UnknownProperty", "Unknown property");
    }

    static int locks(sd_bus_message* call) {
        return sd_bus_reply_method_return(call,
                                          "a(ssssuu)",
                                          2,
                                          "shutdown",
                                          "tide recorder",
                                          "copying\nthe day",
                                          "delay",
                                          1000U,
                                          42U,
                                          "sleep",
                                          "x",
                                          "y",
                                          "block",
                                          0U,
                                          1U);
    }

    int check(sd_bus_message* call, sd_bus_error* error) {
        const char* kind = nullptr;
        const char* action = nullptr;
        NIGHTLATCH_ENSURE(sd_bus_message_enter_container(call, 'r', "sa{sv}") > 0);
        NIGHTLATCH_ENSURE(sd_bus_message_read(call, "s", &kind) > 0);
        std::uint32_t pid = 0;
        std::uint64_t start = 0;
        std::int32_t uid = 0;
        const char* key = nullptr;
        NIGHTLATCH_ENSURE(
            sd_bus_message_read(
                call, "a{sv}", 3, &key, "u", &pid, &key, "t", &start, &key, "i", &uid) > 0);
        NIGHTLATCH_ENSURE(sd_bus_message_exit_container(call) > 0);
        NIGHTLATCH_ENSURE(sd_bus_message_read(call, "s", &action) > 0);
        asked.push_back(std::string(kind) + " " + std::to_string(pid) + " " +
                        std::to_string(start) + " " + std::to_string(uid));
        if (!manners_.trusts_us) {
            return sd_bus_error_set(error,
                                    "org.freedesktop.PolicyKit1.Error.NotAuthorized",
                                    "Only trusted callers can use CheckAuthorization()");
        }
        const bool yes = manners_.authorised.contains(action);
        return sd_bus_reply_method_return(call, "(bba{ss})", yes ? 1 : 0, yes ? 0 : 1, 0);
    }

    Manners manners_;
    int stop_;
    Loop loop_;
    Bus bus_;
    std::thread thread_;
};

std::string own_stat() {
    std::ostringstream text;
    text << std::ifstream("/proc/self/stat").rdbuf();
    return text.str();
}

}  // namespace

TEST_CASE("the login and service managers' answers become facts", "[login]") {
    test::PrivateBus bus;
    bus.start();
    Manners manners;
    manners.authorised = {"org.freedesktop.login1.power-off"};
    const Answerers answerers(manners);
    const login::BusAnswers answers = login::read_bus_answers();
    REQUIRE(answers.login);
    const audit::LoginFacts& login = *answers.login;
    CHECK(*login.handle_power_key == "poweroff");
    CHECK(*login.handle_power_key_long_press == "ignore");
    CHECK(*login.block_inhibited == "handle-power-key");
    CHECK(*login.delay_limit == 5s);
    REQUIRE(login.inhibitors->size() == 2);
    CHECK(login.inhibitors->front().who == "tide recorder");
    CHECK(login.inhibitors->front().why == "copying\\u000Athe day");
    CHECK(login.inhibitors->front().mode == "delay");
    CHECK(login.inhibitors->front().uid == 1000);
    CHECK(*login.may_power_off == "yes");
    CHECK(*login.may_power_off_multiple_sessions == "challenge");
    CHECK(*answers.manager.default_stop_timeout == 90s);
    CHECK_FALSE(answers.manager.runtime_watchdog->has_value());
    CHECK(**answers.manager.reboot_watchdog == Duration::max());
}

TEST_CASE("polkit is asked about the service's own process, by its start and its user", "[login]") {
    test::PrivateBus bus;
    bus.start();
    const Answerers answerers{Manners{}};
    const login::BusAnswers answers = login::read_bus_answers();
    REQUIRE(answers.login);
    const std::uint64_t start = login::start_of_process(own_stat());
    CHECK(start > 0);
    const std::string asked = "unix-process " + std::to_string(getpid()) + " " +
                              std::to_string(start) + " " + std::to_string(getuid());
    CHECK(answerers.asked == std::vector<std::string>{asked, asked});
}

TEST_CASE("an older login manager's missing answer is missing alone", "[login]") {
    test::PrivateBus bus;
    bus.start();
    Manners manners;
    manners.texts.erase("HandlePowerKeyLongPress");
    manners.times.erase("RebootWatchdogUSec");
    const Answerers answerers(manners);
    const login::BusAnswers answers = login::read_bus_answers();
    REQUIRE(answers.login);
    CHECK_THAT(answers.login->handle_power_key_long_press.what_is_missing(),
               ContainsSubstring("HandlePowerKeyLongPress of org.freedesktop.login1"));
    CHECK(answers.login->handle_power_key);
    CHECK_FALSE(answers.manager.reboot_watchdog);
    CHECK(answers.manager.runtime_watchdog);
}

TEST_CASE("a service that does not run is told, with how to start it", "[login]") {
    test::PrivateBus bus;
    bus.start();
    Manners manners;
    manners.main_pid = 0;
    const Answerers answerers(manners);
    const login::BusAnswers answers = login::read_bus_answers();
    REQUIRE(answers.login);
    CHECK_THAT(answers.login->may_power_off.what_is_missing(),
               ContainsSubstring("systemctl start nightlatch"));
    CHECK(answerers.asked.empty());
}

TEST_CASE("who may not ask polkit about others is told to be root", "[login]") {
    test::PrivateBus bus;
    bus.start();
    Manners manners;
    manners.trusts_us = false;
    const Answerers answerers(manners);
    const login::BusAnswers answers = login::read_bus_answers();
    REQUIRE(answers.login);
    CHECK(answers.login->may_power_off.what_is_missing() ==
          "polkit's answer for the service (run as root)");
}

TEST_CASE("no login manager, no polkit, and no bus are each told as what they are", "[login]") {
    test::PrivateBus bus;
    CHECK_THAT(login::read_bus_answers().login.what_is_missing(),
               ContainsSubstring("no connection to the system bus"));
    CHECK_THAT(login::read_bus_answers().manager.default_stop_timeout.what_is_missing(),
               ContainsSubstring("no connection to the system bus"));
    bus.start();
    {
        Manners manners;
        manners.names.erase("org.freedesktop.PolicyKit1");
        const Answerers answerers(manners);
        const login::BusAnswers answers = login::read_bus_answers();
        REQUIRE(answers.login);
        CHECK_THAT(answers.login->may_power_off.what_is_missing(),
                   ContainsSubstring("org.freedesktop.PolicyKit1"));
    }
    CHECK_THAT(login::read_bus_answers().login.what_is_missing(),
               ContainsSubstring("the login manager's answers"));
}

TEST_CASE("a silent login manager, and a silent bus, hold the audit up for a while only",
          "[login]") {
    test::PrivateBus bus;
    const auto begin = std::chrono::steady_clock::now();
    SECTION("the login manager") {
        bus.start();
        Manners manners;
        manners.silent = true;
        const Answerers answerers(manners);
        const login::BusAnswers answers = login::read_bus_answers();
        CHECK_FALSE(answers.login);
        CHECK_FALSE(answers.manager.default_stop_timeout);
    }
    SECTION("the bus") {
        const int listener = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
        sockaddr_un address{};
        address.sun_family = AF_UNIX;
        (bus.directory() + "/socket").copy(address.sun_path, sizeof address.sun_path - 1);
        REQUIRE(bind(listener, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0);
        REQUIRE(listen(listener, 1) == 0);
        CHECK_FALSE(login::read_bus_answers().login);
        close(listener);
    }
    // At most four questions, 2 s each; sd-bus's own patience would be 25 s for every one.
    CHECK(std::chrono::steady_clock::now() - begin < 20s);
}

TEST_CASE("a process's start is found behind any name", "[login]") {
    const std::string rest = " S 1 1 1 0 -1 4194560 0 0 0 0 0 0 0 0 20 0 1 0 4711 1 1";
    CHECK(login::start_of_process("7 (nightlatchd)" + rest) == 4711);
    CHECK(login::start_of_process("7 (a) b (c)) 9)" + rest) == 4711);
    CHECK(login::start_of_process("7 (x) S 1") == 0);
    CHECK(login::start_of_process("") == 0);
}
