// SPDX-License-Identifier: MIT
#include "supervisor/published.hpp"

#include <utility>

namespace nightlatch::supervisor {
namespace {

std::optional<ReasonCode> code_of(const Published& published) {
    return published.reason ? std::optional(published.reason->code) : std::nullopt;
}

/// The reason without its code.
Reason details_of(const Published& published) {
    Reason details = published.reason.value_or(Reason{});
    details.code = ReasonCode{};
    return details;
}

}  // namespace

std::string_view text_of(ReasonCode code) noexcept {
    switch (code) {
    case ReasonCode::locked:
        return "locked";
    case ReasonCode::refused:
        return "refused";
    case ReasonCode::not_sent:
        return "not-sent";
    case ReasonCode::no_answer:
        return "no-answer";
    case ReasonCode::given_up:
        return "given-up";
    case ReasonCode::nothing_came:
        return "nothing-came";
    case ReasonCode::failed:
        return "failed";
    case ReasonCode::no_post_halt:
        return "no-post-halt";
    case ReasonCode::asked:
        return "asked";
    case ReasonCode::other_shutdown:
        return "other-shutdown";
    case ReasonCode::alarm:
        return "alarm";
    case ReasonCode::dry:
        return "dry";
    case ReasonCode::line_lost:
        return "line-lost";
    case ReasonCode::line_unreadable:
        return "line-unreadable";
    case ReasonCode::stuck:
        return "stuck";
    }
    return "refused";
}

std::vector<Property> differences(const Published& before, const Published& after) {
    const std::array<std::pair<Property, bool>, 11> same{{
        {Property::cue, before.cue == after.cue},
        {Property::since, before.since == after.since},
        {Property::until, before.until == after.until},
        {Property::stage, before.stage == after.stage},
        {Property::stages, before.stages == after.stages},
        {Property::reason, code_of(before) == code_of(after)},
        {Property::reason_details, details_of(before) == details_of(after)},
        {Property::alarms, before.alarms == after.alarms},
        {Property::post_halt, before.post_halt == after.post_halt},
        {Property::line, before.line == after.line},
        {Property::configuration, before.configuration == after.configuration},
    }};
    std::vector<Property> others;
    for (const auto& [property, is_same] : same) {
        if (!is_same) {
            others.push_back(property);
        }
    }
    return others;
}

}  // namespace nightlatch::supervisor
