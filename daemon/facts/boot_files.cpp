// SPDX-License-Identifier: MIT
#include "daemon/facts/boot_files.hpp"

#include "bootfiles/config_txt.hpp"
#include "bootfiles/env_txt.hpp"
#include "bootfiles/extlinux.hpp"
#include "daemon/facts/files.hpp"

namespace nightlatch::facts {
namespace {

using bootfiles::Intent;
using Intents = std::vector<Intent>;

constexpr const char* boot = "/boot";
constexpr const char* firmware = "/boot/firmware";

/// Collects intents; the first file that is there but cannot be read makes the whole missing, for
/// what stands in it could be anything.
class Collector {
public:
    Collector(const std::string& root, const std::vector<std::string>& compatible)
        : root_(root), compatible_(compatible) {}

    /// Whether the file is there.
    bool config_txt(const std::string& folder) {
        const std::string path = folder + "/config.txt";
        const auto text = file(path);
        if (!text) {
            return false;
        }
        const auto included = [&](std::string_view name) -> std::optional<std::string> {
            if (!stays_below(name)) {
                return std::nullopt;
            }
            Read<std::string> more = read_file(root_, folder + "/" + std::string(name));
            return more ? std::optional(std::move(*more)) : std::nullopt;
        };
        found_.push_back(bootfiles::read_config_txt(path, *text, compatible_, included));
        return true;
    }

    void env_txt(const std::string& path) {
        if (const auto text = file(path)) {
            found_.push_back(bootfiles::read_env_txt(path, *text));
        }
    }

    void extlinux(const std::string& path) {
        if (const auto text = file(path)) {
            found_.push_back(bootfiles::read_extlinux(path, *text));
        }
    }

    void missed(const Missing& what) {
        if (missed_.empty()) {
            missed_ = what.text;
        }
    }

    Known<Intents> result() && {
        return missed_.empty() ? Known<Intents>(std::move(found_))
                               : Known<Intents>::missing(missed_);
    }

private:
    std::optional<std::string> file(const std::string& path) {
        Read<std::string> text = read_file(root_, path);
        if (text) {
            return std::move(*text);
        }
        if (!text.error().absent()) {
            missed(text.error());
        }
        return std::nullopt;
    }

    const std::string& root_;
    const std::vector<std::string>& compatible_;
    Intents found_;
    std::string missed_;
};

}  // namespace

bool stays_below(std::string_view name) {
    const std::string path = "/" + std::string(name) + "/";
    return !name.empty() && name.find('\0') == std::string_view::npos &&
           path.find("/../") == std::string::npos;
}

Known<Intents> read_boot_files(const std::string& root,
                               const std::vector<std::string>& compatible) {
    Collector collector(root, compatible);
    const Read<std::vector<std::string>> names = names_in(root, boot);
    if (!names) {
        return names.error().absent() ? Known<Intents>(Intents{})
                                      : Known<Intents>::missing(names.error().text);
    }
    const Read<std::vector<std::string>> below = names_in(root, firmware);
    if (below && below->empty()) {
        return Known<Intents>::missing("the boot partition (nothing is mounted at " + root +
                                       firmware + ")");
    }
    if (!collector.config_txt(firmware)) {
        collector.config_txt(boot);
    }
    for (const std::string& name : *names) {
        if (name.ends_with("Env.txt")) {
            collector.env_txt(std::string(boot) + "/" + name);
        }
    }
    collector.extlinux(std::string(boot) + "/extlinux/extlinux.conf");
    return std::move(collector).result();
}

}  // namespace nightlatch::facts
