// SPDX-License-Identifier: MIT
#include "daemon/cues/led_cue.hpp"

#include "base/account.hpp"
#include "base/text.hpp"
#include "daemon/cues/sysfs.hpp"

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstring>
#include <filesystem>
#include <utility>

namespace nightlatch::cues {

namespace {

unsigned long number_of(std::string_view text, unsigned long otherwise) {
    unsigned long number = 0;
    const auto [end, bad] = std::from_chars(text.data(), text.data() + text.size(), number);
    return bad == std::errc{} ? number : otherwise;
}

std::string names_in(const std::string& root) {
    std::string names;
    std::error_code bad;
    for (std::filesystem::directory_iterator at{root, bad}, end; !bad && at != end;
         at.increment(bad)) {
        names += (names.empty() ? "" : ", ") + at->path().filename().string();
    }
    return names.empty() ? "there is none on this machine now" : "there are: " + names;
}

std::string remedy_for(int number, const std::string& root) {
    switch (number) {
    case ENOENT:
    case ENODEV:
        return names_in(root) + "; see `led` under [[feedback]] in the configuration";
    case EACCES:
    case EPERM:
        return "the installed udev rule 40-nightlatch.rules gives an LED's files to the group " +
               service_account_name() +
               "; `udevadm trigger --action=change --subsystem-match=leds` applies it "
               "now";
    case EROFS:
        return "the unit must have ReadWritePaths=/sys/devices";
    case EBUSY:
        return "a camera or another driver has the LED to itself";
    default:
        return "it will be tried again when the cue changes";
    }
}

}  // namespace

LedCue::LedCue(sys::EventLoop& loop, ports::Journal& journal, LedSettings settings)
    : loop_(loop), journal_(journal), settings_(std::move(settings)),
      timer_(loop.timer([this] { update(); })), tries_(settings_.patience) {}

std::string LedCue::path_of(std::string_view file) const {
    return settings_.root + "/" + settings_.name + "/" + std::string{file};
}

void LedCue::show(const core::Cue& cue) {
    const core::Pattern& pattern = core::look_of(settings_.looks, cue);
    if (taken_over_ && !tries_.failing() && core::goes_on(pattern_, pattern)) {
        return;
    }
    const Instant now = loop_.now();
    pattern_ = pattern;
    since_.reset();
    if (const Instant allowed = tries_.allowed(now); allowed > now) {
        timer_.arm(allowed);
        return;
    }
    update();
}

void LedCue::update() {
    const Instant now = loop_.now();
    if (!taken_over_) {
        if (const auto failure = take_over()) {
            failed(*failure, now);
            return;
        }
        taken_over_ = true;
        tries_.progressed();
    }
    const Instant since = since_.value_or(now);
    const LedPlan plan = plan_of(way_, pattern_, since, now);
    if (const auto failure = write_all(plan.writes)) {
        failed(*failure, now);
        return;
    }
    since_ = since;
    timer_.arm(plan.until);
    if (tries_.succeeded()) {
        journal_.say(ports::Priority::info,
                     ports::Message::cue_trouble,
                     "LED " + in_quotes(settings_.name, uncut) + " can be driven again");
    }
}

std::optional<LedCue::Failure> LedCue::write_all(const std::vector<FileText>& writes) const {
    for (const FileText& one : writes) {
        if (const int number = write_file(path_of(one.file), one.text); number != 0) {
            return Failure{number, path_of(one.file)};
        }
    }
    return std::nullopt;
}

/// Sets the timer trigger. What is found is noted only once: later it would be our own doing.
std::optional<LedCue::Failure> LedCue::take_over() {
    LedFound found;
    const FileRead brightness = read_file(path_of("brightness"));
    if (brightness.number != 0) {
        return Failure{brightness.number, path_of("brightness")};
    }
    found.brightness = number_of(brightness.text, 0);
    read_triggers(read_file(path_of("trigger")).text, found);
    found.delay_on = number_of(read_file(path_of("delay_on")).text, 0);
    found.delay_off = number_of(read_file(path_of("delay_off")).text, 0);
    if (!found_) {
        found_ = found;
    }
    way_.lit = std::max(1UL, number_of(read_file(path_of("max_brightness")).text, 1));
    way_.drive = found.timer_offered ? Drive::kernel : Drive::hand;

    const char* wanted = found.timer_offered ? "timer" : "none";
    if (found.trigger.empty() || found.trigger == wanted) {
        return std::nullopt;
    }
    return write_all({{"trigger", wanted}});
}

void LedCue::failed(const Failure& failure, Instant now) {
    const Tries::Next next = tries_.failed(now);
    timer_.arm(next.at);
    if (!next.tell) {
        return;
    }
    const bool by_hand = drive_by_hand();
    journal_.say(ports::Priority::warning,
                 ports::Message::cue_trouble,
                 "LED " + in_quotes(settings_.name, uncut) + ": cannot use " + failure.path + ": " +
                     std::strerror(failure.number) + "; " +
                     remedy_for(failure.number, settings_.root) +
                     (by_hand ? "; until then it is blinked without the kernel's help" : ""));
    if (by_hand) {
        tries_.succeeded();
        timer_.arm(now);
    } else {
        taken_over_ = false;
    }
}

/// When the trigger could be set but its delays stay root's, udev does not answer that event here.
/// What could be written before, trigger and brightness, still can. Gives whether that is so.
bool LedCue::drive_by_hand() {
    if (!taken_over_ || way_.drive == Drive::hand || write_all({{"trigger", "none"}})) {
        return false;
    }
    way_.drive = Drive::hand;
    return true;
}

void LedCue::finish(Farewell farewell) {
    timer_.disarm();
    if (!taken_over_) {
        return;
    }
    if (farewell == Farewell::stopped) {
        static_cast<void>(write_all(restoring(*found_, way_.drive)));
        return;
    }
    if (way_.drive == Drive::hand && pattern_.kind == core::PatternKind::blink) {
        static_cast<void>(write_file(path_of("brightness"), std::to_string(way_.lit)));
    }
}

}  // namespace nightlatch::cues
