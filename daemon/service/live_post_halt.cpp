// SPDX-License-Identifier: MIT
#include "daemon/service/live_post_halt.hpp"

#include "audit/audit.hpp"
#include "audit/post_halt_part.hpp"
#include "daemon/facts/driver.hpp"
#include "daemon/facts/kernel.hpp"
#include "daemon/facts/live_tree.hpp"
#include "daemon/gpio/survey.hpp"

#include <algorithm>
#include <utility>

#include <malloc.h>

namespace nightlatch::service {
namespace {

Known<std::vector<lines::Chip>> chips_seen(const gpio::Places& places) {
    gpio::Survey survey = gpio::survey(places);
    if (survey.chips.empty() && !survey.unseen.empty()) {
        return Known<std::vector<lines::Chip>>::missing(survey.unseen.front().error.text);
    }
    return std::move(survey.chips);
}

}  // namespace

LivePostHalt::LivePostHalt(std::string root, gpio::Places places)
    : root_(std::move(root)), places_(std::move(places)) {}

ports::PostHaltReport LivePostHalt::look(const config::Settings& settings, ports::LookAt what) {
    if (what == ports::LookAt::all) {
        read_tree(settings);
    }
    if (what == ports::LookAt::line) {
        look_at_line();
    } else {
        look_at_chips();
    }
    facts_.driver = facts::read_post_halt_driver(root_);
    audit::VerdictResult result = audit::judge_post_halt(facts_);
    return {result.verdict, std::move(result.reason)};
}

void LivePostHalt::read_tree(const config::Settings& settings) {
    facts_ = {};
    facts_.config = audit::ConfigFacts{"", {settings, {}, {}}};
    facts_.kernel = facts::running_kernel();
    facts_.tree = facts::read_live_tree(root_);
    if (facts_.tree) {
        facts_.tree = audit::post_halt_part(*facts_.tree);
    }
    // A tree of thousands of nodes was here for a moment: its memory is of use to others meanwhile.
    malloc_trim(0);
}

void LivePostHalt::look_at_chips() {
    facts_.chips = chips_seen(places_);
    device_ = audit::post_halt_device(facts_);
}

/// Who holds the line may be another one by now; which chips there are is told when it changes.
void LivePostHalt::look_at_line() {
    if (device_.empty()) {
        return;
    }
    Result<lines::Chip> now = gpio::look_at(places_, device_);
    std::vector<lines::Chip> chips = *facts_.chips;
    const auto kept = std::find_if(
        chips.begin(), chips.end(), [&](const lines::Chip& chip) { return chip.path == device_; });
    if (!now || now->label != kept->label || now->lines.size() != kept->lines.size()) {
        look_at_chips();  // it is just being replaced
        return;
    }
    kept->lines = std::move(now->lines);
    facts_.chips = std::move(chips);
}

}  // namespace nightlatch::service
