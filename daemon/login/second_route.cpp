// SPDX-License-Identifier: MIT
#include "daemon/login/second_route.hpp"

#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>

#include <fcntl.h>
#include <sys/inotify.h>

namespace nightlatch::login {
namespace {

Unexpected<Error> failed(const std::string& what) {
    const std::string why = std::strerror(errno);
    return {Error{Trouble::other, what + ": " + why}};
}

}  // namespace

SecondRoute::SecondRoute(sys::EventLoop& loop,
                         std::string directory,
                         Duration pick_up,
                         std::function<void(bool)> done)
    : directory_(std::move(directory)), pick_up_(pick_up), done_(std::move(done)), loop_(loop),
      watch_(loop.fd_watch([this](sys::FdReady) { look(); })),
      patience_(loop.timer([this] { give_up(); })) {}

SecondRoute::~SecondRoute() {
    withdraw();
}

std::string SecondRoute::file_for(core::Action action) const {
    return directory_ +
           (action == core::Action::reboot ? "/reboot-requested" : "/poweroff-requested");
}

void SecondRoute::clear() {
    for (const core::Action action : {core::Action::power_off, core::Action::reboot}) {
        std::error_code gone;
        std::filesystem::remove_all(file_for(action), gone);  // a folder may stand there
    }
}

Outcome SecondRoute::post(core::Action action) {
    withdraw();
    clear();
    inotify_ = sys::Fd{inotify_init1(IN_NONBLOCK | IN_CLOEXEC)};
    // Watched before it is made: its removal cannot be missed.
    if (!inotify_ || inotify_add_watch(inotify_.get(), directory_.c_str(), IN_DELETE) < 0) {
        return failed("cannot watch " + directory_);
    }
    if (auto started = watch_.start(inotify_.get()); !started) {
        return started;
    }
    const std::string file = file_for(action);
    const sys::Fd made{open(file.c_str(), O_WRONLY | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0644)};
    if (!made) {
        auto error = failed("cannot make " + file);
        withdraw();
        return error;
    }
    file_ = file;
    patience_.arm(loop_.now() + pick_up_);
    return std::monostate{};
}

void SecondRoute::withdraw() {
    watch_.stop();
    patience_.disarm();
    inotify_.reset();
    if (!file_.empty()) {
        unlink(std::exchange(file_, {}).c_str());
    }
}

void SecondRoute::look() {
    std::array<char, 4096> events{};
    while (read(inotify_.get(), events.data(), events.size()) > 0) {
    }
    if (!file_.empty() && access(file_.c_str(), F_OK) != 0 && errno == ENOENT) {
        finish(true);
    }
}

void SecondRoute::give_up() {
    const bool withdrawn = unlink(file_.c_str()) == 0;
    finish(!withdrawn);
}

void SecondRoute::finish(bool taken_up) {
    file_.clear();
    withdraw();
    done_(taken_up);
}

}  // namespace nightlatch::login
