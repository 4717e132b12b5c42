// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "daemon/tool/client/words.hpp"
#include "daemon/tool/status/status.hpp"

#include <array>

namespace nightlatch::tool {
namespace {

std::optional<Wrong> not_running(const StatusFacts& facts) {
    if (facts.state) {
        return std::nullopt;
    }
    const std::string what = absent_words(facts.absent, facts.detail);
    switch (facts.absent) {
    case Absent::no_bus:
        return Wrong{what, "sudo systemctl start dbus.socket"};
    case Absent::no_service:
        if (!facts.settings) {
            return Wrong{what + ", and its configuration cannot be used: " +
                             safe(facts.settings.what_is_missing()),
                         "sudo nightlatch check, then sudo systemctl start nightlatch"};
        }
        return Wrong{what,
                     "sudo systemctl start nightlatch (journalctl -u nightlatch says why "
                     "it ended)"};
    case Absent::silent:
        break;
    }
    return Wrong{what, "journalctl -u nightlatch, then sudo systemctl restart nightlatch"};
}

std::optional<Wrong> line_trouble(const StatusFacts& facts) {
    if (!facts.state || (facts.state->line.watching && facts.state->cue != "fault")) {
        return std::nullopt;
    }
    const std::string why = reason_words(facts.state->reason);
    return Wrong{"the button's line is not watched" + (why.empty() ? "" : ": " + why),
                 "sudo nightlatch lines --all, which says who holds it and what there is"};
}

std::optional<Wrong> stuck(const StatusFacts& facts) {
    if (!facts.state || facts.state->cue != "stuck") {
        return std::nullopt;
    }
    return Wrong{"the button is stuck", "let it go; if nobody presses it, check its wiring"};
}

std::optional<Wrong> bad_file(const StatusFacts& facts) {
    if (!facts.state || facts.state->configuration.on_disk != "bad") {
        return std::nullopt;
    }
    const auto& trouble = facts.state->configuration.trouble;
    return Wrong{"the configuration on disk is bad" +
                     (trouble ? ": " + safe(*trouble) : std::string()) +
                     "; an earlier one is in force",
                 "sudo nightlatch check"};
}

std::optional<Wrong> other_file(const StatusFacts& facts) {
    if (!facts.state || facts.state->configuration.on_disk != "differs") {
        return std::nullopt;
    }
    return Wrong{"the configuration on disk is another than the one in force",
                 "sudo nightlatch check && sudo systemctl reload nightlatch"};
}

/// A circuit that needs no post-halt line is configured as one.
bool may_lack_post_halt(const StatusFacts& facts) {
    return facts.settings && facts.settings->core.without_post_halt == core::WithoutPostHalt::allow;
}

std::optional<Wrong> supply_stays_on(const StatusFacts& facts) {
    if (!facts.state || may_lack_post_halt(facts)) {
        return std::nullopt;
    }
    const std::string& verdict = facts.state->post_halt;
    if (verdict != "absent" && verdict != "contradicted") {
        return std::nullopt;
    }
    return Wrong{"the supply will stay on after a power-off (post-halt line: " + verdict + ")",
                 "sudo nightlatch audit"};
}

std::optional<Wrong> last_refused(const StatusFacts& facts) {
    if (!facts.state || facts.state->cue != "refused") {
        return std::nullopt;
    }
    const bool locked = facts.state->reason.code == "locked";
    const std::string why = reason_words(facts.state->reason);
    return Wrong{"the request was refused" + (why.empty() ? "" : ": " + why),
                 locked ? "systemd-inhibit --list" : "journalctl -u nightlatch"};
}

constexpr std::array rules{
    not_running, line_trouble, stuck, bad_file, supply_stays_on, last_refused, other_file};

}  // namespace

std::vector<Wrong> what_is_wrong(const StatusFacts& facts) {
    std::vector<Wrong> all;
    for (const auto rule : rules) {
        if (auto wrong = rule(facts)) {
            all.push_back(std::move(*wrong));
        }
    }
    return all;
}

}  // namespace nightlatch::tool
