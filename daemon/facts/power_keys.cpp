// SPDX-License-Identifier: MIT
#include "daemon/facts/power_keys.hpp"

#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/facts/of_node.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>

namespace nightlatch::facts {
namespace {

constexpr const char* inputs = "/sys/class/input";
constexpr const char* database = "/run/udev/data/c";
constexpr const char* tags = "/run/udev/tags/power-switch/c";
/// KEY_POWER, KEY_SLEEP, KEY_SUSPEND, KEY_POWER2, KEY_RESTART.
constexpr unsigned keys[] = {116, 142, 205, 356, 408};

/// In udev's database of version 1 the tags that hold now stand behind "Q:"; those behind "G:", and
/// the folders of tags, keep what a rule has taken away [systemd
/// src/libsystemd/sd-device/device-private.c]. The login manager goes by those that hold now.
bool is_tagged(const std::string& root, const std::string& number) {
    const Read<std::string> record = read_file(root, database + number);
    const std::vector<std::string> lines = lines_of(record ? *record : std::string{});
    if (std::find(lines.begin(), lines.end(), "V:1") != lines.end()) {
        return std::find(lines.begin(), lines.end(), "Q:power-switch") != lines.end();
    }
    const Known<bool> tagged = is_there(root, tags + number);
    return tagged && *tagged;
}

std::string above(const std::string& path) {
    return path.substr(0, path.rfind('/'));
}

/// Where the event's link leads: "/sys/devices/platform/keys/input/input0/event0".
std::string home_of(const std::string& root, const std::string& name) {
    const Read<std::string> target = link_target(root, std::string(inputs) + "/" + name);
    const std::size_t at = target ? target->find("/devices/") : std::string::npos;
    return at == std::string::npos ? "" : "/sys" + target->substr(at);
}

/// From the input upwards, the first device with a driver: the key's own, its receiver's, or the
/// chip's that it is a part of.
void add_device(const std::string& root, const std::string& home, audit::PowerKeySource& source) {
    source.remote = home.find("/rc/rc") != std::string::npos;
    for (std::string at = above(above(home)); at.size() > std::string("/sys/devices").size();
         at = above(at)) {
        const Read<std::string> driver = link_target(root, at + "/driver");
        if (driver) {
            source.driver = driver->substr(driver->rfind('/') + 1);
            return;
        }
    }
}

unsigned hexadecimal(const Read<std::string>& text) {
    unsigned value = 0;
    if (text) {
        std::from_chars(text->data(), text->data() + text->size(), value, 16);
    }
    return value;
}

audit::PowerKeySource source_at(const std::string& root,
                                const std::string& name,
                                std::vector<unsigned> codes) {
    const std::string event = std::string(inputs) + "/" + name;
    audit::PowerKeySource source;
    source.device = name;
    source.codes = std::move(codes);
    if (const Read<std::string> its_name = read_value(root, event + "/device/name")) {
        source.name = *its_name;
    }
    if (const Read<std::string> number = read_value(root, event + "/dev")) {
        source.tagged = is_tagged(root, *number);
    }
    // The event's device is the input; the input's is the one that the tree describes.
    source.node = node_of_device(root, event + "/device/device");
    source.bus = hexadecimal(read_value(root, event + "/device/id/bustype"));
    add_device(root, home_of(root, name), source);
    return source;
}

using Readers = Known<std::vector<std::string>>;

/// "systemd-logind (412)".
std::string program_of(const std::string& root, const std::string& process) {
    const Read<std::string> name = read_value(root, "/proc/" + process + "/comm");
    return (name ? *name : "a program") + " (" + process + ")";
}

void add_once(std::vector<std::string>& readers, const std::string& reader) {
    if (readers.empty() || readers.back() != reader) {
        readers.push_back(reader);
    }
}

/// Puts a process down at each of the devices that it has open. Whether its open files could be
/// seen: a process that has ended since has none.
bool add_reader(const std::string& root,
                const std::string& process,
                std::vector<std::pair<std::string, std::vector<std::string>>>& devices) {
    const std::string fds = "/proc/" + process + "/fd/";
    const Read<std::vector<std::string>> files = names_in(root, fds);
    if (!files) {
        return files.error().absent();
    }
    for (const std::string& file : *files) {
        const Read<std::string> target = link_target(root, std::string(fds).append(file));
        const auto device = std::find_if(devices.begin(), devices.end(), [&](const auto& one) {
            return target && *target == "/dev/input/" + one.first;
        });
        if (device != devices.end()) {
            add_once(device->second, program_of(root, process));
        }
    }
    return true;
}

/// Who has the devices open, by every process's open files; that takes root.
void add_readers(const std::string& root, std::vector<audit::PowerKeySource>& sources) {
    if (sources.empty()) {
        return;
    }
    std::vector<std::pair<std::string, std::vector<std::string>>> devices;
    devices.reserve(sources.size());
    for (const audit::PowerKeySource& source : sources) {
        devices.emplace_back(source.device, std::vector<std::string>{});
    }
    const Read<std::vector<std::string>> processes = names_in(root, "/proc");
    bool all = processes.has_value();
    for (const std::string& process : processes ? *processes : std::vector<std::string>{}) {
        // Of each process /proc has a folder that is its number.
        all = (!all_digits(process) || add_reader(root, process, devices)) && all;
    }
    for (std::size_t i = 0; i < sources.size(); ++i) {
        sources[i].readers = all ? Readers(std::move(devices[i].second))
                                 : Readers::missing("other programs' open files (run as root)");
    }
}

}  // namespace

Known<audit::LoginUnit> read_login_unit(const std::string& root) {
    constexpr const char* unit = "systemd-logind.service";
    bool found = false;
    // In the order in which the service manager looks [systemd.unit(5)].
    for (const char* const folder : {"/etc/systemd/system/",
                                     "/run/systemd/system/",
                                     "/usr/local/lib/systemd/system/",
                                     "/usr/lib/systemd/system/",
                                     "/lib/systemd/system/"}) {
        const std::string path = std::string(folder) + unit;
        const Read<std::string> target = link_target(root, path);
        if (target && *target == "/dev/null") {
            return audit::LoginUnit::masked;
        }
        const Known<bool> there = is_there(root, path);
        if (!there) {
            return Known<audit::LoginUnit>::missing(there.what_is_missing());
        }
        found = found || *there;
        if (found) {
            break;
        }
    }
    return found ? audit::LoginUnit::there : audit::LoginUnit::absent;
}

std::vector<unsigned> power_codes(std::string_view words, unsigned word_bits) {
    const std::vector<std::string> all = words_of(words);
    std::vector<unsigned> codes;
    for (const unsigned key : keys) {
        const std::size_t from_the_end = key / word_bits;
        if (from_the_end >= all.size()) {
            continue;
        }
        const std::string& word = all[all.size() - 1 - from_the_end];
        std::uint64_t bits = 0;
        const char* const end = word.data() + word.size();
        const auto [stopped, error] = std::from_chars(word.data(), end, bits, 16);
        if (error == std::errc{} && stopped == end && (bits >> (key % word_bits) & 1U) != 0) {
            codes.push_back(key);
        }
    }
    return codes;
}

Known<std::vector<audit::PowerKeySource>> read_power_keys(const std::string& root) {
    using Answer = Known<std::vector<audit::PowerKeySource>>;
    const Read<std::vector<std::string>> names = class_devices(root, "input");
    if (!names) {
        return Answer::missing(names.error().text);
    }
    std::vector<audit::PowerKeySource> found;
    for (const std::string& name : *names) {
        if (!name.starts_with("event")) {
            continue;
        }
        const std::string event = std::string(inputs) + "/" + name;
        const Read<std::string> words = read_value(root, event + "/device/capabilities/key");
        if (!words && !words.error().absent()) {
            return Answer::missing(words.error().text);
        }
        std::vector<unsigned> codes = power_codes(words ? *words : std::string{});
        if (!codes.empty()) {
            found.push_back(source_at(root, name, std::move(codes)));
        }
    }
    add_readers(root, found);
    return found;
}

}  // namespace nightlatch::facts
