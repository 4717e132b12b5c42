// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "base/duration_text.hpp"
#include "daemon/tool/bounce/bounce.hpp"
#include "daemon/tool/bounce/words.hpp"

namespace nightlatch::tool {
namespace {

using bounce::BounceTally;

const char* word(bounce::BounceOutcome verdict) {
    switch (verdict) {
    case bounce::BounceOutcome::fine:
        return "fine";
    case bounce::BounceOutcome::few:
        return "few";
    case bounce::BounceOutcome::too_short:
        return "too-short";
    case bounce::BounceOutcome::no_press:
        return "no-press";
    case bounce::BounceOutcome::never_rests:
        return "never-rests";
    case bounce::BounceOutcome::floats:
        return "floats";
    }
    return "";
}

const char* word(BounceEnd end) {
    switch (end) {
    case BounceEnd::enough:
        return "enough";
    case BounceEnd::time:
        return "time";
    case BounceEnd::signal:
        return "signal";
    case BounceEnd::floats:
        return "floats";
    case BounceEnd::restless:
        return "restless";
    case BounceEnd::pressed:
        return "pressed-at-rest";
    case BounceEnd::recorded:
        return "recorded";
    }
    return "";
}

Json buckets_json(const BounceTally& tally) {
    Json buckets = Json::array();
    for (std::size_t i = 0; i < tally.buckets.size(); ++i) {
        Json bound;  // of the last bucket there is none
        if (i == 0) {
            bound = 0;
        } else if (i <= BounceTally::bounds.size()) {
            bound = microseconds(BounceTally::bounds[i - 1]);
        }
        buckets.push_back({{"up_to_us", std::move(bound)}, {"times", tally.buckets[i]}});
    }
    return buckets;
}

Json tally_json(const BounceTally& tally) {
    return {{"times", tally.times},
            {"clean", tally.clean},
            {"edges", tally.edges},
            {"most_edges", tally.most_edges},
            {"mean_us", microseconds(tally.mean())},
            {"longest_us", microseconds(tally.longest)},
            {"longest_pause_closed_us", microseconds(tally.longest_closed)},
            {"longest_pause_open_us", microseconds(tally.longest_open)},
            {"histogram", buckets_json(tally)}};
}

Json episode_json(const std::optional<bounce::BounceEpisode>& episode) {
    if (!episode) {
        return nullptr;
    }
    return {{"edges", episode->edges},
            {"length_us", microseconds(episode->length())},
            {"longest_pause_us", microseconds(episode->longest_pause())}};
}

Json presses_json(const std::vector<BouncePress>& presses) {
    Json json = Json::array();
    for (const BouncePress& one : presses) {
        const auto held = one.held();
        json.push_back({{"pressing", episode_json(one.press)},
                        {"held_us", held ? Json(microseconds(*held)) : Json(nullptr)},
                        {"letting_go", episode_json(one.release)}});
    }
    return json;
}

Json intervals_json(const bounce::Intervals& intervals) {
    return {{"press_us", microseconds(intervals.press)},
            {"release_us", microseconds(intervals.release)}};
}

Json configured_json(const BounceTarget& target, const BounceSeen& seen) {
    if (!target.configured) {
        return nullptr;
    }
    Json json = intervals_json(*target.configured);
    json["file"] = target.config;
    json["long_enough"] = bounce::serves(*target.configured, seen.report);
    if (seen.trial) {
        json["presses"] = seen.trial->presses();
        json["voided"] = seen.trial->voided();
    }
    return json;
}

Json advice_json(const BounceSeen& seen) {
    const auto advice = bounce::advise(seen.report);
    if (!advice) {
        return nullptr;
    }
    Json json = intervals_json(*advice);
    json["block"] = debounce_line(*advice);
    json["margin"] = bounce::advice_margin;
    return json;
}

std::vector<std::string> all_cautions(const BounceTarget& target, const BounceSeen& seen) {
    std::vector<std::string> said = cautions(target, seen);
    if (std::string assumed = assumption(target, seen); !assumed.empty()) {
        said.insert(said.begin(), std::move(assumed));
    }
    return said;
}

}  // namespace

std::string bounce_json(const BounceTarget& target, const BounceSeen& seen) {
    const Json json{{"verdict", word(verdict_of(target, seen))},
                    {"status", bounce_status(target, seen)},
                    {"of", target.name},
                    {"captured", target.captured},
                    {"pressed", level_word(target.pressed_low)},
                    {"wanted", target.wanted},
                    {"ended_by", word(seen.end)},
                    {"quiet_us", microseconds(target.quiet)},
                    {"pressing", tally_json(seen.report.press)},
                    {"letting_go", tally_json(seen.report.release)},
                    {"came_back", tally_json(seen.report.back)},
                    {"unasked_edges", seen.unasked},
                    {"merged", seen.report.merged},
                    {"lost", seen.report.lost},
                    {"presses", presses_json(seen.presses)},
                    {"configured", configured_json(target, seen)},
                    {"advice", advice_json(seen)},
                    {"cautions", all_cautions(target, seen)}};
    return json_text("nightlatch-bounce", 2, json);
}

}  // namespace nightlatch::tool
