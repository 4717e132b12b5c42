// SPDX-License-Identifier: MIT
#include "daemon/facts/systemd_config.hpp"

#include "base/text.hpp"
#include "daemon/facts/drop_ins.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

namespace nightlatch::facts {
namespace {

using namespace std::chrono_literals;

/// The first has the last word.
constexpr std::array<std::string_view, 4> folders{
    "/etc/systemd/", "/run/systemd/", "/usr/local/lib/systemd/", "/usr/lib/systemd/"};

Known<SystemdKeys> not_read(const Missing& why) {
    return Known<SystemdKeys>::missing(why.text);
}

/// The one file, then what is added to it: of the main file only the first that is there is read.
Read<std::vector<std::string>> files_of(const std::string& root, const std::string& name) {
    std::vector<std::string> files;
    std::vector<std::string> beside;
    for (const std::string_view folder : folders) {
        const std::string path = std::string(folder) + name;
        const Known<bool> there = is_there(root, path);
        if (files.empty() && !(there && !*there)) {
            files.push_back(path);
        }
        beside.push_back(path + ".d");
    }
    auto more = drop_ins(root, beside);
    if (!more) {
        return more;
    }
    files.insert(files.end(), more->begin(), more->end());
    return files;
}

Known<SystemdKeys> keys_of(const std::string& root,
                           const std::string& name,
                           std::string_view section) {
    const Known<bool> there = is_there(root, "/usr/lib/systemd/systemd");
    const Known<bool> older = is_there(root, "/lib/systemd/systemd");
    if (!(there && *there) && !(older && *older)) {
        return Known<SystemdKeys>::missing("systemd (" + root +
                                           "/usr/lib/systemd/systemd is not there)");
    }
    const Read<std::vector<std::string>> files = files_of(root, name);
    if (!files) {
        return not_read(files.error());
    }
    SystemdKeys keys;
    Budget budget = usual_budget();
    for (const std::string& file : *files) {
        const Read<std::string> text = budget.read(root, file);
        if (text) {
            take_section(*text, section, keys);
        } else if (!text.error().absent()) {
            return not_read(text.error());  // what stands in it could be anything
        }
    }
    return keys;
}

using Takes = bool (*)(const std::string& value);

/// The last assignment that systemd takes: what it cannot read it logs and passes over
/// [systemd.syntax(7)].
Known<std::string> value_of(const Known<SystemdKeys>& keys,
                            std::string_view key,
                            const char* usual,
                            Takes takes) {
    if (!keys) {
        return Known<std::string>::missing(std::string(key) + ": " + keys.what_is_missing());
    }
    const auto found = keys->find(key);
    if (found == keys->end()) {
        return std::string(usual);
    }
    const auto last = std::find_if(found->second.rbegin(), found->second.rend(), takes);
    return last == found->second.rend() ? std::string(usual) : *last;
}

bool is_word(const std::string& /*value*/) {
    return true;
}

bool is_time(const std::string& value) {
    return time_span(value).has_value();
}

bool is_watchdog_time(const std::string& value) {
    return value == "off" || value == "default" || is_time(value);
}

Known<Duration> time(const Known<SystemdKeys>& keys, std::string_view key, const char* usual) {
    const Known<std::string> text = value_of(keys, key, usual, is_time);
    return text ? Known<Duration>(*time_span(*text))
                : Known<Duration>::missing(text.what_is_missing());
}

Known<std::optional<Duration>> watchdog(const Known<SystemdKeys>& keys,
                                        std::string_view key,
                                        const char* usual) {
    using Answer = Known<std::optional<Duration>>;
    const Known<std::string> text = value_of(keys, key, usual, is_watchdog_time);
    if (!text) {
        return Answer::missing(text.what_is_missing());
    }
    if (*text == "default") {
        return Answer::missing(std::string(key) + "= is \"default\": the device's own time");
    }
    const Duration length = *text == "off" ? Duration::zero() : *time_span(*text);
    return length == 0s ? std::optional<Duration>{} : std::optional(length);
}

struct Unit {
    std::string_view name;
    Duration length;
};

// clang-format off
constexpr std::array units{
    Unit{"", 1s},    Unit{"s", 1s},   Unit{"sec", 1s},   Unit{"second", 1s}, Unit{"seconds", 1s},
    Unit{"m", 1min}, Unit{"min", 1min}, Unit{"minute", 1min}, Unit{"minutes", 1min},
    Unit{"h", 1h},   Unit{"hr", 1h},  Unit{"hour", 1h},  Unit{"hours", 1h},
    Unit{"d", 24h},  Unit{"day", 24h}, Unit{"days", 24h},
    Unit{"w", 168h}, Unit{"week", 168h}, Unit{"weeks", 168h},
    Unit{"ms", 1ms}, Unit{"msec", 1ms}, Unit{"us", 1us}, Unit{"usec", 1us}};

// clang-format on

std::string_view take_while(std::string_view& text, std::string_view letters, bool in) {
    const std::size_t end =
        std::min(in ? text.find_first_not_of(letters) : text.find_first_of(letters), text.size());
    const std::string_view taken = text.substr(0, end);
    text.remove_prefix(end);
    return taken;
}

/// One number with its unit, off the front.
std::optional<Duration> take_part(std::string_view& text) {
    const std::string_view digits = take_while(text, "0123456789.", true);
    const std::string_view name = trimmed(take_while(text, "0123456789.", false));
    double number = 0;
    const char* const end = digits.data() + digits.size();
    const auto [stopped, error] = std::from_chars(digits.data(), end, number);
    const auto* const unit =
        std::find_if(units.begin(), units.end(), [&](const Unit& one) { return one.name == name; });
    constexpr double longest = 1e9;  // seconds: some thirty years are for ever
    if (error != std::errc{} || stopped != end || unit == units.end()) {
        return std::nullopt;
    }
    const double seconds = number * std::chrono::duration<double>(unit->length).count();
    return seconds < longest
               ? std::chrono::duration_cast<Duration>(std::chrono::duration<double>(seconds))
               : Duration::max();
}

}  // namespace

namespace {

/// An empty value takes back what was said before.
void take_key(std::string_view line, std::size_t equals, SystemdKeys& keys) {
    const std::string key(trimmed(line.substr(0, equals)));
    const std::string_view value = trimmed(line.substr(equals + 1));
    if (value.empty()) {
        keys.erase(key);
    } else {
        keys[key].emplace_back(value);
    }
}

}  // namespace

void take_section(std::string_view text, std::string_view section, SystemdKeys& keys) {
    bool ours = false;
    std::string joined;
    for (const std::string& whole : lines_of(text)) {
        const std::string_view part = trimmed(whole);
        if (part.starts_with('#') || part.starts_with(';')) {
            continue;  // within a line that goes on, too
        }
        joined += part;
        if (joined.ends_with('\\')) {
            joined.back() = ' ';
            continue;
        }
        const std::string line = std::exchange(joined, "");
        const std::size_t equals = line.find('=');
        if (line.starts_with('[')) {
            ours = line == "[" + std::string(section) + "]";
        } else if (ours && equals != std::string::npos) {
            take_key(line, equals, keys);
        }
    }
}

std::optional<Duration> time_span(std::string_view text) {
    text = trimmed(text);
    if (text == "infinity") {
        return Duration::max();
    }
    std::optional<Duration> sum;
    while (!text.empty()) {
        const auto part = take_part(text);
        if (!part) {
            return std::nullopt;
        }
        const Duration before = sum.value_or(Duration::zero());
        sum = *part > Duration::max() - before ? Duration::max() : before + *part;
    }
    return sum;
}

void read_logind_config(const std::string& root, audit::LoginFacts& login) {
    const Known<SystemdKeys> keys = keys_of(root, "logind.conf", "Login");
    login.handle_power_key = value_of(keys, "HandlePowerKey", "poweroff", is_word);
    login.handle_power_key_long_press =
        value_of(keys, "HandlePowerKeyLongPress", "ignore", is_word);
    login.delay_limit = time(keys, "InhibitDelayMaxSec", "5s");
}

audit::ServiceManagerFacts read_manager_config(const std::string& root) {
    const Known<SystemdKeys> keys = keys_of(root, "system.conf", "Manager");
    return {time(keys, "DefaultTimeoutStopSec", "90s"),
            watchdog(keys, "RuntimeWatchdogSec", "off"),
            watchdog(keys, "RebootWatchdogSec", "10min")};
}

}  // namespace nightlatch::facts
