// SPDX-License-Identifier: MIT
#include "daemon/login/facts.hpp"

#include "base/text.hpp"
#include "daemon/login/locks.hpp"
#include "daemon/login/login1.hpp"
#include "daemon/login/texts.hpp"
#include "daemon/sys/config_file.hpp"

#include <cerrno>
#include <charconv>
#include <cstring>
#include <ctime>
#include <optional>

#include <sys/stat.h>

namespace nightlatch::login {
namespace {

using namespace std::chrono_literals;

constexpr std::uint64_t patience_us = 2'000'000;

constexpr const char* systemd_name = "org.freedesktop.systemd1";
constexpr const char* systemd_path = "/org/freedesktop/systemd1";
constexpr const char* systemd_interface = "org.freedesktop.systemd1.Manager";
/// The unit nightlatch.service, as sd_bus_path_encode(3) writes it.
constexpr const char* unit_path = "/org/freedesktop/systemd1/unit/nightlatch_2eservice";
constexpr const char* unit_interface = "org.freedesktop.systemd1.Service";
constexpr const char* polkit_name = "org.freedesktop.PolicyKit1";

/// Whom to ask.
struct Object {
    const char* name;
    const char* path;
    const char* interface;
};

constexpr Object login_manager{login_name, login_path, login_interface};
constexpr Object service_manager{systemd_name, systemd_path, systemd_interface};
constexpr Object service_unit{systemd_name, unit_path, unit_interface};
constexpr Object polkit{
    polkit_name, "/org/freedesktop/PolicyKit1/Authority", "org.freedesktop.PolicyKit1.Authority"};

/// An answer, or why there is none.
struct Answer {
    bus::MessageHandle message;
    std::string error;  ///< the name, empty with a message
    std::string words;
};

bool is_denied(std::string_view error) {
    return error == "org.freedesktop.PolicyKit1.Error.NotAuthorized" ||
           error == "org.freedesktop.DBus.Error.AccessDenied";
}

std::uint64_t now_us() {
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return static_cast<std::uint64_t>(now.tv_sec) * 1'000'000U +
           static_cast<std::uint64_t>(now.tv_nsec) / 1'000U;
}

/// Connected and greeted, or why not. sd_bus_call() would wait for a bus that accepts and says
/// nothing for much longer than for an answer.
Result<bus::BusHandle, std::string> connect() {
    sd_bus* raw = nullptr;
    int r = sd_bus_open_system(&raw);
    bus::BusHandle bus{raw};
    const std::uint64_t end = now_us() + patience_us;
    while (r >= 0 && (r = sd_bus_is_ready(bus.get())) == 0) {
        const std::uint64_t now = now_us();
        if (now >= end) {
            r = -ETIMEDOUT;
        } else if ((r = sd_bus_process(bus.get(), nullptr)) == 0) {
            r = sd_bus_wait(bus.get(), end - now);
        }
    }
    if (r >= 0) {
        r = sd_bus_set_method_call_timeout(bus.get(), patience_us);
    }
    if (r < 0) {
        return Unexpected{std::string(std::strerror(-r))};
    }
    return bus;
}

bus::MessageHandle new_call(sd_bus* bus,
                            const Object& object,
                            const char* interface,
                            const char* member) {
    sd_bus_message* message = nullptr;
    sd_bus_message_new_method_call(bus, &message, object.name, object.path, interface, member);
    return bus::MessageHandle{message};
}

Answer ask(sd_bus* bus, const bus::MessageHandle& call) {
    sd_bus_error error{};  // SD_BUS_ERROR_NULL, whose macro is no C++
    sd_bus_message* reply = nullptr;
    const int r = sd_bus_call(bus, call.get(), 0, &error, &reply);
    Answer answer{bus::MessageHandle{reply}, {}, {}};
    if (r < 0) {
        answer.error = error.name != nullptr ? error.name : std::strerror(-r);
        answer.words =
            shortened(error.message != nullptr ? error.message : answer.error, longest_text);
    }
    sd_bus_error_free(&error);
    return answer;
}

Answer get(sd_bus* bus, const Object& object, const char* property) {
    const bus::MessageHandle call = new_call(bus, object, "org.freedesktop.DBus.Properties", "Get");
    if (call != nullptr) {
        sd_bus_message_append(call.get(), "ss", object.interface, property);
    }
    return ask(bus, call);
}

std::string not_told(const Object& object, const std::string& what, const Answer& answer) {
    return what + " of " + object.name + " (" +
           (answer.error.empty() ? "an answer that cannot be read" : answer.words) + ")";
}

Known<std::string> text_property(sd_bus* bus, const Object& object, const char* property) {
    const Answer answer = get(bus, object, property);
    const char* text = nullptr;
    if (answer.message == nullptr ||
        sd_bus_message_read(answer.message.get(), "v", "s", &text) < 0) {
        return Known<std::string>::missing(not_told(object, property, answer));
    }
    return shortened(text, longest_text);
}

/// Microseconds; UINT64_MAX, for ever, is the longest Duration.
Known<Duration> time_property(sd_bus* bus, const Object& object, const char* property) {
    const Answer answer = get(bus, object, property);
    std::uint64_t us = 0;
    if (answer.message == nullptr || sd_bus_message_read(answer.message.get(), "v", "t", &us) < 0) {
        return Known<Duration>::missing(not_told(object, property, answer));
    }
    constexpr auto most = static_cast<std::uint64_t>(Duration::max().count()) / 1'000U;
    return us > most ? Duration::max() : Duration(std::chrono::microseconds(us));
}

/// 0 is off.
Known<std::optional<Duration>> watchdog_property(sd_bus* bus, const char* property) {
    const Known<Duration> time = time_property(bus, service_manager, property);
    if (!time) {
        return Known<std::optional<Duration>>::missing(time.what_is_missing());
    }
    return *time == 0ns ? std::optional<Duration>{} : std::optional(*time);
}

Known<std::vector<audit::Inhibitor>> inhibitors(sd_bus* bus) {
    const Answer answer = ask(bus, new_call(bus, login_manager, login_interface, "ListInhibitors"));
    const auto locks = answer.message != nullptr ? all_locks(answer.message.get()) : std::nullopt;
    if (!locks) {
        return Known<std::vector<audit::Inhibitor>>::missing(
            not_told(login_manager, "ListInhibitors", answer));
    }
    std::vector<audit::Inhibitor> found;
    for (const Lock& lock : *locks) {
        found.push_back({shortened(lock.what, longest_text),
                         shortened(lock.who, longest_text),
                         shortened(lock.why, longest_text),
                         shortened(lock.mode, longest_text),
                         lock.uid,
                         lock.pid});
    }
    return found;
}

/// The running service, as polkit wants a process named.
struct Process {
    std::uint32_t pid = 0;
    std::uint64_t start = 0;
    std::int32_t uid = 0;
};

Known<Process> service_process(sd_bus* bus) {
    const Answer answer = get(bus, service_unit, "MainPID");
    Process process;
    if (answer.message == nullptr ||
        sd_bus_message_read(answer.message.get(), "v", "u", &process.pid) < 0) {
        return Known<Process>::missing(not_told(service_unit, "the service's process", answer));
    }
    const std::string folder = "/proc/" + std::to_string(process.pid);
    const auto stat_text = sys::read_config_file(folder + "/stat", sys::TrustPolicy::anybody);

    struct stat status {};

    if (process.pid == 0 || !stat_text || stat(folder.c_str(), &status) != 0) {
        return Known<Process>::missing("polkit's answer for the running service (it does not run: "
                                       "systemctl start nightlatch)");
    }
    process.start = start_of_process(*stat_text);
    process.uid = static_cast<std::int32_t>(status.st_uid);
    return process;
}

/// Nobody is asked for a password: no flags.
Known<std::string> may(sd_bus* bus, const Known<Process>& process, const char* action) {
    using Words = Known<std::string>;
    if (!process) {
        return Words::missing(process.what_is_missing());
    }
    const bus::MessageHandle call = new_call(bus, polkit, polkit.interface, "CheckAuthorization");
    if (call != nullptr) {
        sd_bus_message_append(call.get(),
                              "(sa{sv})sa{ss}us",
                              "unix-process",
                              3,
                              "pid",
                              "u",
                              process->pid,
                              "start-time",
                              "t",
                              process->start,
                              "uid",
                              "i",
                              process->uid,
                              action,
                              0,
                              0U,
                              "");
    }
    const Answer answer = ask(bus, call);
    if (is_denied(answer.error)) {
        return Words::missing("polkit's answer for the service (run as root)");
    }
    int authorised = 0;
    int challenge = 0;
    if (answer.message == nullptr ||
        sd_bus_message_enter_container(answer.message.get(), 'r', "bba{ss}") < 0 ||
        sd_bus_message_read(answer.message.get(), "bb", &authorised, &challenge) < 0) {
        return Words::missing(not_told(polkit, "the answer", answer));
    }
    return std::string(authorised != 0 ? "yes" : (challenge != 0 ? "challenge" : "no"));
}

Known<audit::LoginFacts> login_answers(sd_bus* bus) {
    // Who is not there, or silent, is not asked six times more.
    const Answer first = get(bus, login_manager, "HandlePowerKey");
    if (bus::is_no_answer(first.error) ||
        first.error == "org.freedesktop.DBus.Error.ServiceUnknown" ||
        first.error == "org.freedesktop.DBus.Error.NameHasNoOwner") {
        return Known<audit::LoginFacts>::missing("the login manager's answers (" + first.words +
                                                 ")");
    }
    audit::LoginFacts facts;
    facts.handle_power_key = text_property(bus, login_manager, "HandlePowerKey");
    facts.handle_power_key_long_press =
        text_property(bus, login_manager, "HandlePowerKeyLongPress");
    facts.block_inhibited = text_property(bus, login_manager, "BlockInhibited");
    facts.delay_limit = time_property(bus, login_manager, "InhibitDelayMaxUSec");
    facts.inhibitors = inhibitors(bus);
    const Known<Process> process = service_process(bus);
    facts.may_power_off = may(bus, process, "org.freedesktop.login1.power-off");
    facts.may_power_off_multiple_sessions =
        may(bus, process, "org.freedesktop.login1.power-off-multiple-sessions");
    return facts;
}

BusAnswers no_answers(const std::string& why) {
    const std::string text = " (no connection to the system bus: " + why + ")";
    BusAnswers answers;
    answers.login = Known<audit::LoginFacts>::missing("the login manager's answers" + text);
    const std::string manager = "the service manager's answers" + text;
    answers.manager.default_stop_timeout = Known<Duration>::missing(manager);
    answers.manager.runtime_watchdog = Known<std::optional<Duration>>::missing(manager);
    answers.manager.reboot_watchdog = Known<std::optional<Duration>>::missing(manager);
    return answers;
}

}  // namespace

BusAnswers read_bus_answers() {
    const Result<bus::BusHandle, std::string> bus = connect();
    if (!bus) {
        return no_answers(bus.error());
    }
    BusAnswers answers;
    answers.login = login_answers(bus->get());
    answers.manager.default_stop_timeout =
        time_property(bus->get(), service_manager, "DefaultTimeoutStopUSec");
    answers.manager.runtime_watchdog = watchdog_property(bus->get(), "RuntimeWatchdogUSec");
    answers.manager.reboot_watchdog = watchdog_property(bus->get(), "RebootWatchdogUSec");
    return answers;
}

std::uint64_t start_of_process(std::string_view stat) {
    constexpr int place = 22 - 2;  // the second field, the name, ends with the last bracket
    stat.remove_prefix(std::min(stat.rfind(')'), stat.size()));
    for (int i = 0; i < place && !stat.empty(); ++i) {
        stat.remove_prefix(std::min(stat.find(' '), stat.size()));
        stat.remove_prefix(stat.empty() ? 0 : 1);
    }
    std::uint64_t start = 0;
    std::from_chars(stat.data(), stat.data() + stat.size(), start);
    return start;
}

}  // namespace nightlatch::login
