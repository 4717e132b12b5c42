// SPDX-License-Identifier: MIT
#include "daemon/gpio/naming.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <memory>
#include <optional>
#include <system_error>

#include <sys/stat.h>

namespace nightlatch::gpio {
namespace {

constexpr std::string_view prefix = "gpiochip";
/// Where the kernel shows the tree's nodes [linux Documentation/ABI/testing/sysfs-firmware-ofw].
constexpr std::string_view tree_folder = "/firmware/devicetree/base";

std::optional<unsigned> chip_number(std::string_view name) {
    if (!name.starts_with(prefix)) {
        return std::nullopt;
    }
    return number_in(name.substr(prefix.size()));
}

/// The file system that a path is on; 0 when it cannot be seen.
dev_t file_system_of(const std::filesystem::path& path) {
    struct stat status {};

    return lstat(path.c_str(), &status) == 0 ? status.st_dev : 0;
}

}  // namespace

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

namespace {

/// Adds the link, unless it leads nowhere.
void add_link(std::vector<Link>& links, const std::filesystem::path& path) {
    std::error_code nowhere;
    const auto target = std::filesystem::canonical(path, nowhere);
    if (!nowhere) {
        links.push_back({path.string(), target.string()});
    }
}

}  // namespace

std::vector<Link> links_below(const std::string& directory) {
    std::vector<Link> links;
    const dev_t here = file_system_of(directory);
    std::error_code error;
    const std::filesystem::recursive_directory_iterator end;
    for (auto entry = std::filesystem::recursive_directory_iterator(
             directory, std::filesystem::directory_options::skip_permission_denied, error);
         !error && entry != end;
         entry.increment(error)) {
        std::error_code no_answer;
        if (entry->is_symlink(no_answer)) {
            add_link(links, entry->path());
        } else if (entry->is_directory(no_answer) && file_system_of(entry->path()) != here) {
            entry.disable_recursion_pending();
        }
    }
    std::sort(
        links.begin(), links.end(), [](const Link& a, const Link& b) { return a.path < b.path; });
    return links;
}

bool behind_slow_bus(std::string_view sysfs_path) {
    constexpr std::string_view slow[] = {"/i2c-", "/spi_master/", "/usb"};
    return std::any_of(std::begin(slow), std::end(slow), [&](std::string_view part) {
        return sysfs_path.find(part) != std::string_view::npos;
    });
}

std::string node_of(const std::string& sys, const std::string& chip) {
    const std::string link = sys + "/bus/gpio/devices/" + chip + "/of_node";
    const std::unique_ptr<char, decltype(&std::free)> real(realpath(link.c_str(), nullptr),
                                                           std::free);
    if (!real) {
        return "";
    }
    const std::string path = real.get();
    const std::size_t at = path.find(tree_folder);
    return at == std::string::npos ? "" : path.substr(at + tree_folder.size());
}

}  // namespace nightlatch::gpio
