// SPDX-License-Identifier: MIT
#include "daemon/facts/power_off.hpp"

#include "audit/power_off_handlers.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/facts/of_node.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <optional>

#include <sys/utsname.h>

namespace nightlatch::facts {
namespace {

using audit::BoundDevice;

constexpr const char* buses = "/sys/bus";
constexpr std::array<std::string_view, 3> homes{
    "drivers/power/reset", "drivers/mfd", "drivers/regulator"};
/// The lists of a large kernel's modules, and its symbols: each less than this.
constexpr std::size_t most_list_bytes = std::size_t{32} << 20U;
/// "power" alone begins the names of power domains, too.
constexpr std::array<std::string_view, 4> says_off{"power_off", "poweroff", "pwroff", "pm_off"};

std::string last_part(std::string_view path) {
    return std::string(path.substr(path.rfind('/') + 1));
}

/// As the kernel names a module: "axp20x-i2c.ko.xz" is "axp20x_i2c".
std::string module_name(std::string_view file) {
    std::string name(file.substr(0, file.find(".ko")));
    std::replace(name.begin(), name.end(), '-', '_');
    return name;
}

using Sources = std::map<std::string, std::string, std::less<>>;

bool is_directly_below(const std::string& path, const std::string& folder) {
    return path.starts_with(folder) && path.find('/', folder.size()) == std::string::npos;
}

/// Lines like "kernel/drivers/mfd/axp20x.ko" of modules.builtin, and of modules.dep with a colon
/// behind them [modules.dep(5), Linux Documentation/kbuild/kbuild.rst].
void add_sources(std::string_view text, Sources& sources) {
    for (const std::string& line : lines_of(text)) {
        const std::string path = line.substr(0, line.find(':'));
        const auto home =
            std::find_if(std::begin(homes), std::end(homes), [&](std::string_view one) {
                return is_directly_below(path, "kernel/" + std::string(one) + "/");
            });
        if (home != std::end(homes)) {
            sources[module_name(last_part(path))] = *home;
        }
    }
}

Sources read_sources(const std::string& root, const std::string& release) {
    Sources sources;
    for (const char* const list : {"/modules.builtin", "/modules.dep"}) {
        std::string path = "/lib/modules/";
        path += release;
        path += list;
        if (const Read<std::string> text = read_file(root, path, most_list_bytes)) {
            add_sources(*text, sources);
        }
    }
    return sources;
}

/// The devices of one bus that have a driver, and the tree or one of the sources knows.
class Bus {
public:
    Bus(const std::string& root, const std::string& name, const Sources& sources)
        : root_(root), path_(std::string(buses) + "/" + name), sources_(sources) {}

    void add_to(std::vector<BoundDevice>& bound) const {
        const Read<std::vector<std::string>> devices = names_in(root_, path_ + "/devices");
        for (const std::string& name : devices ? *devices : std::vector<std::string>{}) {
            if (auto device = device_at(path_ + "/devices/" + name)) {
                bound.push_back(*std::move(device));
            }
        }
    }

private:
    [[nodiscard]] std::optional<BoundDevice> device_at(const std::string& path) const {
        const Read<std::string> driver = link_target(root_, path + "/driver");
        if (!driver) {
            return std::nullopt;
        }
        BoundDevice device;
        device.driver = last_part(*driver);
        device.node = node_of_device(root_, path);
        const Read<std::string> module =
            link_target(root_, path_ + "/drivers/" + device.driver + "/module");
        device.module = module ? last_part(*module) : "";
        const auto folder = sources_.find(device.module);
        device.folder = folder == sources_.end() ? "" : folder->second;
        return device.node.empty() && device.folder.empty() ? std::nullopt
                                                            : std::optional(std::move(device));
    }

    const std::string& root_;
    std::string path_;
    const Sources& sources_;
};

/// Of the drivers that are not in our table, and only when there are any: the list is long.
void add_symbols(const std::string& root, std::vector<BoundDevice>& bound) {
    const auto asks = [](const BoundDevice& device) {
        return !device.folder.empty() && !audit::is_known_module(device.module);
    };
    if (std::none_of(bound.begin(), bound.end(), asks)) {
        return;
    }
    const Read<std::string> symbols = read_file(root, "/proc/kallsyms", most_list_bytes);
    for (BoundDevice& device : bound) {
        if (symbols && asks(device)) {
            device.symbol = power_off_symbol(*symbols, device.module);
        }
    }
}

/// Only arm64 asks EFI to switch off, and only when it uses the run-time services [linux
/// arch/arm64/kernel/efi.c, efi_poweroff_required; Documentation/admin-guide/kernel-parameters.txt,
/// efi=noruntime and noefi].
Known<bool> read_efi(const std::string& root, const std::string& machine) {
    if (machine != "aarch64") {
        return false;
    }
    Known<bool> there = is_there(root, "/sys/firmware/efi");
    if (!there || !*there) {
        return there;
    }
    const Read<std::string> line = read_value(root, "/proc/cmdline");
    if (!line) {
        return Known<bool>::missing(line.error().text);
    }
    const std::vector<std::string> arguments = words_of(*line);
    return std::none_of(arguments.begin(), arguments.end(), [](const std::string& word) {
        return word == "noefi" ||
               (word.starts_with("efi=") &&
                ("," + word.substr(4) + ",").find(",noruntime,") != std::string::npos);
    });
}

}  // namespace

Kernel this_kernel() {
    utsname names{};
    if (uname(&names) != 0) {
        return {};
    }
    return {static_cast<const char*>(names.release), static_cast<const char*>(names.machine)};
}

std::string power_off_symbol(std::string_view symbols, std::string_view module) {
    const std::string_view stem = module.substr(0, module.find('_'));
    constexpr std::size_t shortest = 4;  // "pm" alone begins many names
    if (stem.size() < shortest) {
        return "";
    }
    const std::string begin = " " + std::string(stem);
    for (std::size_t at = symbols.find(begin); at != std::string_view::npos;
         at = symbols.find(begin, at + 1)) {
        const std::string_view rest = symbols.substr(at + 1);
        const std::string_view name = rest.substr(0, rest.find_first_of(" \t\n"));
        if (std::any_of(says_off.begin(), says_off.end(), [&](std::string_view off) {
                return name.find(off) != std::string_view::npos;
            })) {
            return std::string(name);
        }
    }
    return "";
}

audit::PowerOffFacts read_power_off(const std::string& root, const Kernel& kernel) {
    audit::PowerOffFacts facts;
    facts.efi = read_efi(root, kernel.machine);
    const Read<std::vector<std::string>> names = names_in(root, buses);
    if (!names) {
        facts.bound = Known<std::vector<BoundDevice>>::missing(names.error().text);
        return facts;
    }
    const Sources sources = read_sources(root, kernel.release);
    std::vector<BoundDevice> bound;
    for (const std::string& name : *names) {
        Bus(root, name, sources).add_to(bound);
    }
    add_symbols(root, bound);
    facts.bound = std::move(bound);
    return facts;
}

}  // namespace nightlatch::facts
