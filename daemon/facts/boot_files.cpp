// SPDX-License-Identifier: MIT
#include "daemon/facts/boot_files.hpp"

#include "base/text.hpp"
#include "bootfiles/config_txt.hpp"
#include "bootfiles/env_txt.hpp"
#include "bootfiles/extlinux.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/facts/overlay_files.hpp"

#include <algorithm>

namespace nightlatch::facts {
namespace {

using bootfiles::Intent;
using Intents = std::vector<Intent>;

constexpr const char* boot = "/boot";
constexpr const char* firmware = "/boot/firmware";

/// Ten times what a boot partition has, and read in a moment.
Budget boot_budget() {
    return {64, std::size_t{4} << 20U};
}

/// Where a person puts what a program takes into its text.
std::string sources_of(const std::string& root, bootfiles::Writer writer, Budget& budget) {
    const char* const path = writer == bootfiles::Writer::raspi_firmware
                                 ? "/etc/default/raspi-firmware-custom"
                                 : "/etc/default/u-boot";
    const Read<std::string> text = budget.read(root, path);
    return text ? *text : "";
}

/// u-boot-update takes every overlay in that folder, or those of it that its defaults name.
bool is_in_overlay_folder(const std::string& path) {
    return path.starts_with("/boot/dtbo/") || path.starts_with("/dtbo/");
}

/// Of a text that a program writes: which overlays will be in it the next time?
void look_what_lasts(Intent& intent, std::string_view text, const std::string& sources) {
    const std::vector<std::string> lines = lines_of(text);
    const std::vector<std::string> kept = lines_of(sources);
    for (bootfiles::OverlayUse& use : intent.overlays) {
        const std::size_t at = use.place.line;
        const bool here = use.place.file == intent.file && at >= 1 && at <= lines.size();
        const auto is_kept = [&](const std::string& line) {
            return here && trimmed(line) == trimmed(lines[at - 1]);
        };
        use.lasts =
            intent.writer == bootfiles::Writer::u_boot_menu
                ? is_in_overlay_folder(use.file) || sources.find(use.file) != std::string::npos
                : !here || std::any_of(kept.begin(), kept.end(), is_kept);
    }
}

void put_beside(const std::string& folder, bootfiles::FileLine& place) {
    if (!place.file.starts_with('/')) {
        place.file = folder + "/" + place.file;
    }
}

/// What an included file says stands in that file, which has a folder.
void put_included_beside(const std::string& folder, Intent& intent) {
    for (bootfiles::OverlayUse& use : intent.overlays) {
        put_beside(folder, use.place);
        for (bootfiles::Parameter& parameter : use.parameters) {
            put_beside(folder, parameter.place);
        }
    }
    for (bootfiles::EarlyLine& line : intent.early_lines) {
        put_beside(folder, line.place);
    }
    for (bootfiles::Remark& remark : intent.remarks) {
        put_beside(folder, remark.place);
    }
}

/// Collects intents; the first file that is there but cannot be read makes the whole missing, for
/// what stands in it could be anything. Then no further one is read.
class Collector {
public:
    Collector(const std::string& root, const std::vector<std::string>& compatible)
        : root_(root), compatible_(compatible), budget_(boot_budget()) {}

    /// Whether the file is there.
    bool config_txt(const std::string& folder) {
        const std::string path = folder + "/config.txt";
        const auto text = file(path);
        if (!text) {
            return !missed_.empty();
        }
        const auto included = [&](std::string_view name) -> std::optional<std::string> {
            return stays_below(name) ? file(folder + "/" + std::string(name)) : std::nullopt;
        };
        Intent intent = bootfiles::read_config_txt(path, *text, compatible_, included);
        put_included_beside(folder, intent);
        keep(std::move(intent), *text);
        return true;
    }

    void env_txt(const std::string& path) {
        if (const auto text = file(path)) {
            keep(bootfiles::read_env_txt(path, *text), *text);
        }
    }

    void extlinux(const std::string& path) {
        if (const auto text = file(path)) {
            keep(bootfiles::read_extlinux(path, *text), *text);
        }
    }

    Known<Intents> result() && {
        if (!missed_.empty()) {
            return Known<Intents>::missing(missed_);
        }
        Budget overlays = usual_budget();
        for (Intent& intent : found_) {
            look_for_overlays(root_, intent, overlays);
        }
        return std::move(found_);
    }

private:
    std::optional<std::string> file(const std::string& path) {
        if (!missed_.empty()) {
            return std::nullopt;
        }
        Read<std::string> text = budget_.read(root_, path);
        if (text) {
            return std::move(*text);
        }
        if (!text.error().absent()) {
            missed_ = text.error().text;
        }
        return std::nullopt;
    }

    void keep(Intent intent, const std::string& text) {
        intent.writer = bootfiles::writer_of(text);
        if (intent.writer != bootfiles::Writer::nobody) {
            look_what_lasts(intent, text, sources_of(root_, intent.writer, budget_));
        }
        found_.push_back(std::move(intent));
    }

    const std::string& root_;
    const std::vector<std::string>& compatible_;
    Budget budget_;
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
