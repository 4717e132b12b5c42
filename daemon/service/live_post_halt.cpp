// SPDX-License-Identifier: MIT
#include "daemon/service/live_post_halt.hpp"

#include "audit/audit.hpp"
#include "daemon/facts/driver.hpp"
#include "daemon/facts/kernel.hpp"
#include "daemon/facts/live_tree.hpp"
#include "daemon/gpio/survey.hpp"

#include <malloc.h>

namespace nightlatch::service {
namespace {

Known<std::vector<lines::Chip>> chips_seen() {
    gpio::Survey survey = gpio::survey();
    if (survey.chips.empty() && !survey.unseen.empty()) {
        return Known<std::vector<lines::Chip>>::missing(survey.unseen.front().error.text);
    }
    return std::move(survey.chips);
}

audit::Facts facts_for(const config::Settings& settings) {
    audit::Facts facts;
    facts.config = audit::ConfigFacts{"", {settings, {}}};
    facts.tree = facts::read_live_tree("");
    facts.chips = chips_seen();
    facts.kernel = facts::running_kernel();
    facts.driver = facts::read_post_halt_driver("");
    return facts;
}

}  // namespace

ports::PostHaltReport LivePostHalt::look(const config::Settings& settings) {
    audit::VerdictResult result = audit::judge_post_halt(facts_for(settings));
    // A tree of thousands of nodes was here for a moment: its memory is of use to others meanwhile.
    malloc_trim(0);
    return {result.verdict, std::move(result.reason)};
}

}  // namespace nightlatch::service
