// SPDX-License-Identifier: MIT
#include "logbook/evidence.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

namespace nightlatch::logbook {
namespace {

constexpr std::size_t longest_words = 200;

/// What was not left in order, and was put in order then.
constexpr std::array<std::string_view, 8> repairs{"recovering journal",
                                                  "was not cleanly unmounted",
                                                  "orphaned inode",
                                                  "Orphan file",
                                                  "UNEXPECTED INCONSISTENCY",
                                                  "FILE SYSTEM WAS MODIFIED",
                                                  "FIXED",
                                                  "sudden-power-off"};

constexpr std::array<std::string_view, 4> repairs_by_ext4{
    "recovery required", "recovery complete", "orphan inode", "mounting unchecked fs"};

bool has(std::string_view text, std::string_view part) {
    return text.find(part) != std::string_view::npos;
}

template <class Parts>
bool has_one_of(std::string_view text, const Parts& parts) {
    return std::any_of(
        parts.begin(), parts.end(), [&](std::string_view part) { return has(text, part); });
}

/// The first line that does, without what is around it; "" for none.
template <class Matches>
std::string first_line(std::string_view text, Matches matches) {
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        const std::string_view line = trimmed(text.substr(0, end));
        if (matches(line)) {
            return std::string(line.substr(0, longest_words));
        }
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return "";
}

/// "tide: clean, 412/65536 files, …", or after a check that the calendar or the count of mounts
/// asked for "tide: 412/65536 files (0.2% non-contiguous), …".
bool is_in_order(std::string_view line) {
    return has(line, ": clean, ") || has(line, "% non-contiguous)") ||
           (has(line, "checkpoint state = ") && has(line, " unmount"));
}

std::optional<unsigned long> hexadecimal(std::string_view text) {
    unsigned long value = 0;
    const std::string_view digits = trimmed(text);
    const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), value, 16);
    const bool whole = read.ec == std::errc{} && read.ptr == digits.data() + digits.size();
    return whole ? std::optional(value) : std::nullopt;
}

/// The character that "\x2d" stands for; nothing where none is written so.
std::optional<char> escaped_character(std::string_view text) {
    if (text.size() < 4 || !text.starts_with("\\x")) {
        return std::nullopt;
    }
    const auto code = hexadecimal(text.substr(2, 2));
    return code ? std::optional(static_cast<char>(*code)) : std::nullopt;
}

/// The path that a unit's name stands for.
std::string path_of_instance(std::string_view instance) {
    std::string path = "/";
    while (!instance.empty()) {
        if (const auto character = escaped_character(instance)) {
            path += *character;
            instance.remove_prefix(4);
        } else {
            path += instance.front() == '-' ? '/' : instance.front();
            instance.remove_prefix(1);
        }
    }
    return path;
}

}  // namespace

Seen check_said(std::string_view printed) {
    std::string repair =
        first_line(printed, [](std::string_view line) { return has_one_of(line, repairs); });
    if (!repair.empty()) {
        return {Saw::recovery, std::move(repair)};
    }
    std::string clean = first_line(printed, is_in_order);
    if (!clean.empty()) {
        return {Saw::clean, std::move(clean)};
    }
    return {Saw::unreadable, "the check did not say how it found the file system"};
}

std::vector<LoggedCheck> logged_checks(std::string_view log) {
    constexpr std::string_view head = "Log of ";
    std::vector<LoggedCheck> checks;
    while (!log.empty()) {
        const std::size_t end = std::min(log.find('\n'), log.size());
        const std::string_view line = trimmed(log.substr(0, end));
        log.remove_prefix(std::min(end + 1, log.size()));
        if (line.starts_with(head)) {
            const std::size_t last = line.rfind(' ');
            checks.push_back({std::string(line.substr(last + 1)), ""});
        } else if (!checks.empty()) {
            checks.back().printed += std::string(line) + "\n";
        }
    }
    return checks;
}

Seen ext4_said(std::span<const std::string> kernel_lines, std::string_view device) {
    const std::string of_device = "(" + std::string(device) + "): ";
    bool is_mounted = false;
    std::string mounted;
    for (const std::string& line : kernel_lines) {
        if (!line.starts_with("EXT4-fs ") || !has(line, of_device)) {
            continue;
        }
        if (has_one_of(line, repairs_by_ext4)) {
            return {Saw::recovery, line.substr(0, longest_words)};
        }
        if (!is_mounted && has(line, "): mounted filesystem")) {
            is_mounted = true;
            mounted = line.substr(0, longest_words);
        }
    }
    if (is_mounted) {
        return {Saw::clean, std::move(mounted)};
    }
    return {Saw::unreadable,
            "no line of this boot's kernel log tells of the mount of " + std::string(device)};
}

Seen f2fs_said(std::string_view cp_status, std::string_view sb_status) {
    constexpr unsigned long of_an_unmount = 0x1;
    constexpr unsigned long is_recovered = 0x80;
    constexpr unsigned long needs_check = 0x4;
    const auto checkpoint = hexadecimal(cp_status);
    const auto state = hexadecimal(sb_status);
    const std::string words = "cp_status " + std::string(trimmed(cp_status)) + ", sb_status " +
                              std::string(trimmed(sb_status));
    if (!checkpoint || !state) {
        return {Saw::unreadable, words + ": no hexadecimal numbers"};
    }
    if ((*state & is_recovered) != 0) {
        return {Saw::recovery, words};
    }
    // What was synced after that checkpoint could not be recovered, on a root that is mounted
    // read-only first: the unmount is that of a run before.
    if ((*state & needs_check) != 0) {
        return {Saw::unreadable, words + ": it is to be checked"};
    }
    if ((*checkpoint & of_an_unmount) != 0) {
        return {Saw::clean, words};
    }
    return {Saw::unreadable, words + ": not the checkpoint of an unmount"};
}

std::string checked_by_unit(std::string_view unit) {
    constexpr std::string_view head = "systemd-fsck@";
    constexpr std::string_view tail = ".service";
    if (!unit.starts_with(head) || !unit.ends_with(tail)) {
        return "";
    }
    unit.remove_prefix(head.size());
    unit.remove_suffix(tail.size());
    return path_of_instance(unit);
}

}  // namespace nightlatch::logbook
