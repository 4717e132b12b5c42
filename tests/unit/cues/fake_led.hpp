// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/sys/event_loop.hpp"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <string>
#include <vector>

#include <catch2/catch_test_macros.hpp>
#include <sys/inotify.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace nightlatch::test {

/// Permissions mean nothing to root, so what depends on them runs as nobody.
class AsNobody {
public:
    AsNobody() : was_root_(geteuid() == 0) {
        REQUIRE((!was_root_ || seteuid(65534) == 0));
        stay_visible();
    }

    AsNobody(const AsNobody&) = delete;
    AsNobody& operator=(const AsNobody&) = delete;

    ~AsNobody() {
        if (was_root_ && seteuid(0) != 0) {
            std::abort();
        }
        stay_visible();
    }

private:
    /// A change of user hides /proc/self and stops the leak checker [prctl(2), PR_SET_DUMPABLE].
    static void stay_visible() { prctl(PR_SET_DUMPABLE, 1, 0, 0, 0); }

    bool was_root_;
};

class TempDir {
public:
    TempDir() {
        std::string name = (std::filesystem::temp_directory_path() / "nightlatch-XXXXXX").string();
        REQUIRE(mkdtemp(name.data()) != nullptr);
        path_ = name;
    }

    TempDir(const TempDir&) = delete;
    TempDir& operator=(const TempDir&) = delete;

    ~TempDir() { std::filesystem::remove_all(path_); }

    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

private:
    std::filesystem::path path_;
};

struct FakeLedSettings {
    std::string triggers = "[none] timer heartbeat";
    std::string brightness = "0";
    bool udev_answers = true;
};

/// One LED in a directory of plain files, and what the kernel and udev do about them, from the
/// event loop: setting the timer trigger makes new delay files that nobody may write, and udev's
/// answer to that comes a little later [linux drivers/leds/led-triggers.c, led_trigger_set].
class FakeLed {
public:
    using Settings = FakeLedSettings;

    FakeLed(sys::EventLoop& loop, const std::filesystem::path& root, Settings settings = {})
        : dir_(root / "front"), settings_(std::move(settings)),
          inotify_(inotify_init1(IN_NONBLOCK | IN_CLOEXEC)),
          watch_(loop.fd_watch([this](sys::FdReady) { notice(); })),
          udev_(loop.timer([this] { answer(); })), loop_(loop) {
        std::filesystem::create_directory(dir_);
        put("brightness", settings_.brightness);
        put("max_brightness", "255");
        put("trigger", settings_.triggers);
        REQUIRE(inotify_add_watch(inotify_, dir_.c_str(), IN_CLOSE_WRITE) >= 0);
        REQUIRE(watch_.start(inotify_));
    }

    FakeLed(const FakeLed&) = delete;
    FakeLed& operator=(const FakeLed&) = delete;

    ~FakeLed() {
        watch_.stop();
        close(inotify_);
    }

    /// "file=text" of each write by others than the fake kernel, in order.
    [[nodiscard]] const std::vector<std::string>& written() const { return written_; }

    [[nodiscard]] std::string get(const std::string& file) const {
        std::ifstream in{dir_ / file};
        std::string text;
        std::getline(in, text);
        return text;
    }

    /// Called after each noticed write.
    std::function<void()> on_write = [] {};

private:
    void put(const std::string& file, const std::string& text) const {
        std::ofstream out{dir_ / file};
        out << text << '\n';
        REQUIRE(out.flush());
    }

    void notice() {
        alignas(inotify_event) char bytes[4096];
        const ssize_t size = read(inotify_, bytes, sizeof bytes);
        REQUIRE(size > 0);
        for (ssize_t at = 0; at < size;) {
            const auto* event = reinterpret_cast<const inotify_event*>(bytes + at);
            at += static_cast<ssize_t>(sizeof(inotify_event) + event->len);
            noticed(event->name);
        }
        on_write();
    }

    void noticed(const std::string& file) {
        const std::string text = get(file);
        if (own_ > 0 && (file == "trigger" || file == "delay_on" || file == "delay_off")) {
            --own_;
            return;
        }
        written_.push_back(file + "=" + text);
        if (file == "trigger") {
            set_trigger(text);
        }
    }

    void set_trigger(const std::string& name) {
        std::filesystem::remove(dir_ / "delay_on");
        std::filesystem::remove(dir_ / "delay_off");
        std::string list = " none timer heartbeat ";
        list.replace(list.find(" " + name + " "), name.size() + 2, " [" + name + "] ");
        own_ = 1;
        put("trigger", list.substr(1, list.size() - 2));
        if (name != "timer") {
            return;
        }
        own_ = 3;
        for (const char* file : {"delay_on", "delay_off"}) {
            put(file, "500");
            REQUIRE(chmod((dir_ / file).c_str(), 0444) == 0);
        }
        if (settings_.udev_answers) {
            udev_.arm(loop_.now() + std::chrono::milliseconds{15});
        }
    }

    void answer() const {
        for (const char* file : {"delay_on", "delay_off"}) {
            chmod((dir_ / file).c_str(), 0644);  // gone again if the trigger is another by now
        }
    }

    std::filesystem::path dir_;
    Settings settings_;
    int inotify_;
    sys::FdWatch watch_;
    sys::Timer udev_;
    sys::EventLoop& loop_;
    std::vector<std::string> written_;
    int own_ = 0;
};

}  // namespace nightlatch::test
