// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/config_txt.hpp"

#include <map>
#include <string>

namespace nightlatch::test {

inline const std::vector<std::string> fourth_model{"raspberrypi,4-model-b", "brcm,bcm2711"};

/// Of config.txt on that board, with files that it may include.
inline bootfiles::Intent config_txt(std::string_view text,
                                    const std::vector<std::string>& compatible = fourth_model,
                                    const std::map<std::string, std::string>& others = {}) {
    return bootfiles::read_config_txt(
        "config.txt", text, compatible, [&](std::string_view name) -> std::optional<std::string> {
            const auto found = others.find(std::string(name));
            return found == others.end() ? std::nullopt : std::optional(found->second);
        });
}

inline std::string_view text_of(bootfiles::Certainty certainty) {
    switch (certainty) {
    case bootfiles::Certainty::yes:
        return "yes";
    case bootfiles::Certainty::no:
        return "no";
    case bootfiles::Certainty::depends:
        return "depends";
    }
    return "";
}

/// What a text asks for, a line each: "3 yes gpio-poweroff gpiopin=6 active_low", and with its
/// doubt "7 depends gpio-key [gpio4=1] (the level at boot)". Parameters that depend end in '?'.
inline std::string overlays_of(const bootfiles::Intent& intent) {
    std::string all;
    for (const bootfiles::OverlayUse& use : intent.overlays) {
        all += std::to_string(use.place.line) + ' ';
        all += text_of(use.certainty);
        all += ' ' + use.name;
        for (const bootfiles::Parameter& one : use.parameters) {
            all += ' ' + one.name + (one.value.empty() ? "" : "=" + one.value);
            all += one.certainty == bootfiles::Certainty::yes ? "" : "?";
        }
        all += (use.condition.empty() ? "" : " ") + use.condition + '\n';
    }
    return all;
}

/// "3 cut: SENTENCE", a line each.
inline std::string remarks_of(const bootfiles::Intent& intent) {
    constexpr const char* names[] = {"cut",
                                     "unknown_parameter",
                                     "malformed",
                                     "repeated",
                                     "not_found",
                                     "too_deep",
                                     "unknown_overlay",
                                     "too_long"};
    std::string all;
    for (const bootfiles::Remark& remark : intent.remarks) {
        all += std::to_string(remark.place.line) + ' ' + names[static_cast<int>(remark.kind)] +
               ": " + remark.text + '\n';
    }
    return all;
}

}  // namespace nightlatch::test
