// SPDX-License-Identifier: MIT
#include "daemon/gpio/naming.hpp"

#include <algorithm>
#include <charconv>
#include <filesystem>
#include <system_error>

namespace nightlatch::gpio {
namespace {

constexpr std::string_view prefix = "gpiochip";

std::optional<unsigned> number_in(std::string_view text) {
    unsigned number = 0;
    const char* const end = text.data() + text.size();
    const auto [stopped, error] = std::from_chars(text.data(), end, number);
    if (text.empty() || error != std::errc{} || stopped != end) {
        return std::nullopt;
    }
    return number;
}

std::optional<unsigned> chip_number(std::string_view name) {
    if (!name.starts_with(prefix)) {
        return std::nullopt;
    }
    return number_in(name.substr(prefix.size()));
}

bool all_digits(std::string_view text) {
    return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos;
}

std::string some_names(const std::vector<std::string>& names) {
    constexpr std::size_t shown = 8;
    std::string text;
    std::size_t count = 0;
    for (const std::string& name : names) {
        if (name.empty()) {
            continue;
        }
        if (count++ < shown) {
            text += (count == 1 ? "" : ", ") + name;
        }
    }
    if (count == 0) {
        return "its lines have no names, so give an offset";
    }
    return "it has " + text +
           (count > shown ? " and " + std::to_string(count - shown) + " more" : "");
}

}  // namespace

std::string text_of(const ChipFacts& chip) {
    return chip.name + " [" + chip.label + "]";
}

std::vector<std::string> chip_devices(const std::string& directory) {
    std::vector<unsigned> numbers;
    std::error_code error;
    for (auto entry = std::filesystem::directory_iterator(directory, error);
         !error && entry != std::filesystem::directory_iterator();
         entry.increment(error)) {
        const std::optional<unsigned> number = chip_number(entry->path().filename().string());
        std::error_code not_there;
        if (number && !entry->is_symlink(not_there)) {
            numbers.push_back(*number);
        }
    }
    std::sort(numbers.begin(), numbers.end());
    std::vector<std::string> devices;
    devices.reserve(numbers.size());
    for (const unsigned number : numbers) {
        devices.push_back(directory + "/" + std::string(prefix) + std::to_string(number));
    }
    return devices;
}

std::optional<std::string> device_of(const std::string& directory, const std::string& chip) {
    if (chip.find('/') != std::string::npos) {
        return chip;
    }
    if (chip_number(chip)) {
        return directory + "/" + chip;
    }
    return std::nullopt;
}

Result<unsigned> pick_line(const ChipFacts& chip,
                           const std::vector<std::string>& names,
                           const std::string& line) {
    if (all_digits(line)) {
        const std::optional<unsigned> offset = number_in(line);
        if (offset && *offset < names.size()) {
            return *offset;
        }
        return Unexpected{Error{Trouble::no_line,
                                text_of(chip) + " has no line " + line + ": its " +
                                    std::to_string(names.size()) + " lines are numbered from 0"}};
    }
    std::string offsets;
    unsigned found = 0;
    unsigned count = 0;
    for (unsigned offset = 0; offset < names.size(); ++offset) {
        if (!line.empty() && names[offset] == line) {
            found = offset;
            offsets += (count++ == 0 ? "" : ", ") + std::to_string(offset);
        }
    }
    if (count == 0) {
        return Unexpected{
            Error{Trouble::no_line,
                  text_of(chip) + " has no line named \"" + line + "\": " + some_names(names)}};
    }
    // The kernel does not make line names unique [linux include/uapi/linux/gpio.h].
    if (count > 1) {
        return Unexpected{Error{Trouble::ambiguous,
                                std::to_string(count) + " lines of " + text_of(chip) +
                                    " are named \"" + line + "\": give one of the offsets " +
                                    offsets + " instead"}};
    }
    return found;
}

bool behind_slow_bus(std::string_view sysfs_path) {
    constexpr std::string_view slow[] = {"/i2c-", "/spi_master/", "/usb"};
    return std::any_of(std::begin(slow), std::end(slow), [&](std::string_view part) {
        return sysfs_path.find(part) != std::string_view::npos;
    });
}

}  // namespace nightlatch::gpio
