// SPDX-License-Identifier: MIT
#include "system/login/private_bus.hpp"

#include "base/ensure.hpp"

#include <array>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include <fcntl.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

namespace nightlatch::test {
namespace {

void write_file(const std::string& path, const std::string& text) {
    std::ofstream file(path);
    file << text;
    file.close();
    NIGHTLATCH_ENSURE(file.good());
}

void write_configuration(const std::string& directory, const std::string& policy) {
    write_file(directory + "/bus.conf",
               "<busconfig><type>session</type><listen>unix:path=" + directory +
                   "/socket</listen><auth>EXTERNAL</auth><servicedir>" + directory +
                   "/services</servicedir>" + policy + "</busconfig>\n");
}

[[noreturn]] void become_bus(const std::string& directory, bool starts_units, int told) {
    prctl(PR_SET_PDEATHSIG, SIGKILL);  // not to outlive a test that crashes
    const std::string config = "--config-file=" + directory + "/bus.conf";
    const std::string print = "--print-address=" + std::to_string(told);
    fcntl(told, F_SETFD, 0);
    // It complains that it may not raise its limits, at each start.
    const std::string log = directory + "/log";
    const int file = open(log.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    dup2(file, STDERR_FILENO);
    execlp("dbus-daemon",
           "dbus-daemon",
           config.c_str(),
           print.c_str(),
           "--nofork",
           "--nopidfile",
           starts_units ? "--systemd-activation" : nullptr,
           nullptr);
    _exit(127);
}

}  // namespace

PrivateBus::PrivateBus() {
    std::string name = std::filesystem::temp_directory_path() / "nightlatch-bus-XXXXXX";
    NIGHTLATCH_ENSURE(mkdtemp(name.data()) != nullptr);
    directory_ = name;
    std::filesystem::create_directory(directory_ + "/services");
    chmod(directory_.c_str(), 0711);  // for tests that connect as another account
    const std::string address = "unix:path=" + directory_ + "/socket";
    write_configuration(directory_,
                        "<policy context=\"default\"><allow user=\"*\"/>"
                        "<allow send_destination=\"*\" eavesdrop=\"true\"/>"
                        "<allow eavesdrop=\"true\"/><allow own=\"*\"/></policy>");
    setenv("DBUS_SYSTEM_BUS_ADDRESS", address.c_str(), 1);
}

PrivateBus::~PrivateBus() {
    stop();
    unsetenv("DBUS_SYSTEM_BUS_ADDRESS");
    std::filesystem::remove_all(directory_);
}

void PrivateBus::can_start(const std::string& name, const std::string& program) const {
    write_file(directory_ + "/services/" + name + ".service",
               "[D-BUS Service]\nName=" + name + "\nExec=" + program + "\n");
}

void PrivateBus::can_start_by_unit(const std::string& name, const std::string& unit) {
    starts_units_ = true;
    can_start(name, "/bin/false\nSystemdService=" + unit);
}

void PrivateBus::start() {
    std::array<int, 2> ends{};
    NIGHTLATCH_ENSURE(daemon_ == 0 && pipe2(ends.data(), O_CLOEXEC) == 0);
    daemon_ = fork();
    NIGHTLATCH_ENSURE(daemon_ >= 0);
    if (daemon_ == 0) {
        become_bus(directory_, starts_units_, ends[1]);
    }
    close(ends[1]);
    // It prints its address once it listens.
    pollfd told{ends[0], POLLIN, 0};
    std::array<char, 256> address{};
    constexpr int patience_ms = 20'000;
    NIGHTLATCH_ENSURE(poll(&told, 1, patience_ms) == 1 &&
                      read(ends[0], address.data(), address.size()) > 0);
    close(ends[0]);
}

/// [dbus-daemon's system.conf.in: what it forbids and allows by default]
void PrivateBus::obey(const std::string& policy_file) const {
    write_configuration(directory_,
                        "<policy context=\"default\"><allow user=\"*\"/><deny own=\"*\"/>"
                        "<deny send_type=\"method_call\"/><allow send_type=\"signal\"/>"
                        "<allow send_requested_reply=\"true\" send_type=\"method_return\"/>"
                        "<allow send_requested_reply=\"true\" send_type=\"error\"/>"
                        "<allow receive_type=\"method_call\"/>"
                        "<allow receive_type=\"method_return\"/><allow receive_type=\"error\"/>"
                        "<allow receive_type=\"signal\"/>"
                        "<allow send_destination=\"org.freedesktop.DBus\"/></policy><include>" +
                            policy_file + "</include>");
}

void PrivateBus::freeze() const {
    NIGHTLATCH_ENSURE(daemon_ > 0 && kill(daemon_, SIGSTOP) == 0);
    int status = 0;
    NIGHTLATCH_ENSURE(waitpid(daemon_, &status, WUNTRACED) == daemon_ && WIFSTOPPED(status));
}

void PrivateBus::thaw() const {
    NIGHTLATCH_ENSURE(daemon_ > 0 && kill(daemon_, SIGCONT) == 0);
}

void PrivateBus::stop() {
    if (daemon_ > 0) {
        kill(daemon_, SIGKILL);
        waitpid(daemon_, nullptr, 0);
        daemon_ = 0;
    }
}

}  // namespace nightlatch::test
