// SPDX-License-Identifier: MIT
#include "daemon/gpio/sentences.hpp"

#include "base/text.hpp"

#include <array>
#include <cerrno>
#include <system_error>

#include <grp.h>
#include <sys/stat.h>

namespace nightlatch::gpio {
namespace {

std::string reason(int code) {
    return std::system_category().message(code);
}

std::string listed(const std::vector<lines::Chip>& chips) {
    std::string text;
    for (const lines::Chip& chip : chips) {
        text += (text.empty() ? "" : ", ") + lines::text_of(chip) + " (" +
                std::to_string(chip.lines.size()) + (chip.lines.size() == 1 ? " line)" : " lines)");
    }
    return text;
}

std::string group_name(gid_t gid) {
    std::array<char, 4096> buffer{};
    group entry{};
    group* found = nullptr;
    if (getgrgid_r(gid, &entry, buffer.data(), buffer.size(), &found) == 0 && found != nullptr) {
        return entry.gr_name;
    }
    return std::to_string(gid);
}

}  // namespace

Error no_such_chip(const std::string& wanted, const std::vector<lines::Chip>& present) {
    if (present.empty()) {
        return {Trouble::no_chip,
                "no GPIO chip " + in_quotes(wanted) +
                    ", nor any other on this machine: to try a configuration without one, run "
                    "\"nightlatchd --simulated FILE\""};
    }
    return {Trouble::no_chip,
            "no GPIO chip " + in_quotes(wanted) + ": give the label of one that is there, " +
                listed(present)};
}

Error several_chips(const std::string& label, const std::vector<lines::Chip>& candidates) {
    return {Trouble::ambiguous,
            std::to_string(candidates.size()) + " GPIO chips are labelled " + in_quotes(label) +
                ": give the name of one instead, " + listed(candidates)};
}

Error chip_denied(const std::string& device, int code) {
    // The device control group answers EPERM, file permissions answer EACCES
    // [linux security/device_cgroup.c, open(2)].
    if (code == EPERM) {
        return {Trouble::denied,
                "no permission for " + device +
                    ": the service's unit must allow it with DeviceAllow=char-gpiochip rw",
                code};
    }

    struct stat status {};

    constexpr mode_t group_may = S_IRGRP | S_IWGRP;
    if (stat(device.c_str(), &status) == 0 && status.st_gid != 0 &&
        (status.st_mode & group_may) == group_may) {
        return {Trouble::denied,
                "no permission for " + device + ": it is for the group " +
                    in_quotes(group_name(status.st_gid)) +
                    ", which this process must be in (SupplementaryGroups= in a unit, "
                    "\"usermod -aG\" for a person)",
                code};
    }
    return {Trouble::denied,
            "no permission for " + device +
                ": no udev rule has given it to a group yet, so wait a moment, or install the rule "
                "that comes with Nightlatch",
            code};
}

Error chip_unusable(const std::string& device, int code) {
    // What libgpiod and the kernel say of a node that is none, or whose chip has just gone.
    if (code == ENOTTY || code == ENODEV || code == ENXIO) {
        return {Trouble::no_chip,
                device + " is not a GPIO chip, or its chip has gone: check its name",
                code};
    }
    return {Trouble::other, device + " cannot be used (" + reason(code) + "): try again", code};
}

std::string text_of(const LinePlace& line) {
    return "line " + std::to_string(line.offset) +
           (line.name.empty() ? "" : " " + in_quotes(line.name)) + " of " + line.chip;
}

Error line_busy(const LinePlace& line, const std::optional<std::string>& consumer) {
    if (!consumer) {
        return {
            Trouble::busy,
            text_of(line) +
                " is busy although nobody holds it: its interrupt is taken, perhaps by a line of "
                "the same number on another chip, so choose another line",
            EBUSY};
    }
    // The kernel writes "?" for a holder without a name [linux drivers/gpio/gpiolib.c,
    // gpiod_request_commit].
    const bool named = !consumer->empty() && *consumer != "?";
    return {
        Trouble::busy,
        text_of(line) + " is in use by " +
            (named ? in_quotes(*consumer) : "somebody who gives no name") +
            ": stop that program, take the line out of that device-tree node, or choose another "
            "line",
        EBUSY};
}

Error line_refused(const LinePlace& line, int code) {
    switch (code) {
    case ENXIO:
        return {Trouble::unsupported,
                text_of(line) + " can raise no interrupt, so its edges cannot be seen: choose "
                                "another line",
                code};
    case EACCES:
    case EPERM:
        return {Trouble::denied,
                "no permission for " + text_of(line) +
                    ": its driver keeps it to itself, so choose another line",
                code};
    case ENODEV:
        return {Trouble::no_chip,
                "the chip of " + text_of(line) + " went away just now: wait until it is back",
                code};
    case EINVAL:
        return {Trouble::unsupported,
                text_of(line) +
                    " is refused by its driver: the pin is reserved or set to another function, so "
                    "choose another line or change the pin's function in the device tree",
                code};
    default:
        return {Trouble::other,
                text_of(line) + " cannot be requested (" + reason(code) + "): try again",
                code};
    }
}

Error line_lost(const LinePlace& line, int code) {
    if (code == ENODEV) {
        return {Trouble::gone,
                "the chip of " + text_of(line) + " has gone: it is asked for again when one comes",
                code};
    }
    return {Trouble::other,
            text_of(line) + " cannot be read or driven (" + reason(code) +
                "): check the chip's wiring and its supply",
            code};
}

}  // namespace nightlatch::gpio
