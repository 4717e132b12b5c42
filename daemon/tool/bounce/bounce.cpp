// SPDX-License-Identifier: MIT
#include "daemon/tool/bounce/bounce.hpp"

#include "base/text.hpp"
#include "config/load.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/tool/bounce/sources.hpp"
#include "daemon/tool/check/check.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>
#include <cstdio>

namespace nightlatch::tool {

std::optional<Duration> BouncePress::held() const {
    if (!press || !release) {
        return std::nullopt;
    }
    return release->begin - press->last;
}

void BounceSeen::take(const bounce::BounceEpisode& episode) {
    if (episode.from == episode.to) {
        return;
    }
    if (episode.to == Level::inactive && !presses.empty() && !presses.back().release) {
        presses.back().release = episode;
    } else if (presses.size() < most_presses) {
        const bool press = episode.to == Level::active;
        presses.push_back({press ? std::optional(episode) : std::nullopt,
                           press ? std::nullopt : std::optional(episode)});
    }
}

bounce::BounceOutcome verdict_of(const BounceTarget& target, const BounceSeen& seen) {
    if (seen.end == BounceEnd::floats || seen.end == BounceEnd::pressed) {
        return bounce::BounceOutcome::floats;
    }
    return bounce::judge(seen.report, target.wanted, target.configured);
}

int bounce_status(const BounceTarget& target, const BounceSeen& seen) {
    return verdict_of(target, seen) == bounce::BounceOutcome::fine ? 0 : 1;
}

Result<std::optional<BounceConfig>> read_bounce_config(const BounceOptions& options) {
    const bool needed = options.line.empty() && !options.wave;
    if (!options.config && !needed) {
        return std::optional<BounceConfig>();
    }
    BounceConfig config{options.config.value_or(default_config), {}};
    const auto text = sys::read_config_file(config.file, sys::TrustPolicy::anybody);
    if (!text) {
        std::string why = safe(text.error().text);
        why += options.config ? "" : "; or name the line: nightlatch bounce CHIP LINE";
        return Unexpected{Error{text.error().trouble, std::move(why)}};
    }
    config::Loaded loaded = config::load(*text);
    if (!loaded.settings) {
        std::string said;
        for (const config::Diagnostic& one : loaded.diagnostics) {
            said += config::to_text(one, config.file) + "\n";
        }
        return Unexpected{
            Error{Trouble::other, said + "say nightlatch check " + safe(config.file)}};
    }
    config.settings = std::move(*loaded.settings);
    return std::optional(std::move(config));
}

void take_config(BounceTarget& target, const BounceConfig& config) {
    const core::Settings& core = config.settings.core;
    target.config = config.file;
    target.configured = bounce::Intervals{core.press_interval, core.release_interval};
    for (const core::Stage& stage : core.stages) {
        target.shortest_hold = std::min(target.shortest_hold.value_or(stage.hold), stage.hold);
    }
}

int report_bounce(const BounceOptions& options,
                  const BounceTarget& target,
                  const BounceSeen& seen) {
    const std::string text =
        options.json ? bounce_json(target, seen) : bounce_text(target, seen, style_of_output());
    print(text);
    return bounce_status(target, seen);
}

int run_bounce(const BounceOptions& options) {
    const auto config = read_bounce_config(options);
    if (!config) {
        return complain_lines(config.error().text);
    }
    return options.wave ? bounce_on_capture(options, *config) : bounce_on_line(options, *config);
}

}  // namespace nightlatch::tool
