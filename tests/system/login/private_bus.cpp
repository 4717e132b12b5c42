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

[[noreturn]] void become_bus(const std::string& directory, int told) {
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
           nullptr);
    _exit(127);
}

}  // namespace

PrivateBus::PrivateBus() {
    std::string name = std::filesystem::temp_directory_path() / "nightlatch-bus-XXXXXX";
    NIGHTLATCH_ENSURE(mkdtemp(name.data()) != nullptr);
    directory_ = name;
    std::filesystem::create_directory(directory_ + "/services");
    const std::string address = "unix:path=" + directory_ + "/socket";
    write_file(directory_ + "/bus.conf",
               "<busconfig><type>session</type><listen>" + address + "</listen><servicedir>" +
                   directory_ +
                   "/services</servicedir><policy context=\"default\">"
                   "<allow send_destination=\"*\" eavesdrop=\"true\"/><allow eavesdrop=\"true\"/>"
                   "<allow own=\"*\"/></policy></busconfig>\n");
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

void PrivateBus::start() {
    std::array<int, 2> ends{};
    NIGHTLATCH_ENSURE(daemon_ == 0 && pipe2(ends.data(), O_CLOEXEC) == 0);
    daemon_ = fork();
    NIGHTLATCH_ENSURE(daemon_ >= 0);
    if (daemon_ == 0) {
        become_bus(directory_, ends[1]);
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

void PrivateBus::stop() {
    if (daemon_ > 0) {
        kill(daemon_, SIGKILL);
        waitpid(daemon_, nullptr, 0);
        daemon_ = 0;
    }
}

}  // namespace nightlatch::test
