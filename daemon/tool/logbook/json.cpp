// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "daemon/tool/audit/audit.hpp"
#include "daemon/tool/logbook/logbook.hpp"

namespace nightlatch::tool {
namespace {

using logbook::Run;

const char* word_of(logbook::Unreadable why) {
    switch (why) {
    case logbook::Unreadable::torn:
        return "torn";
    case logbook::Unreadable::damaged:
        return "damaged";
    case logbook::Unreadable::later_version:
        return "later-version";
    case logbook::Unreadable::unknown:
        return "unknown";
    }
    return "";
}

Json time_of(const std::optional<Instant>& instant) {
    return instant ? Json(microseconds(instant->time_since_epoch())) : Json();
}

Json time_of(const std::optional<Duration>& duration) {
    return duration ? Json(microseconds(*duration)) : Json();
}

Json day_of(const logbook::Stamp& stamp) {
    return stamp.day ? Json(stamp.day->time_since_epoch().count()) : Json();
}

Json start_of(const Run& run) {
    if (!run.started) {
        return {};
    }
    const logbook::Started& started = *run.started;
    return {{"up_us", microseconds(started.at.up.time_since_epoch())},
            {"day_us", day_of(started.at)},
            {"nightlatch", started.version},
            {"kernel", started.kernel}};
}

Json end_of(const Run& run) {
    if (!run.ended) {
        return {};
    }
    const logbook::Ended& ended = *run.ended;
    Json json{{"up_us", microseconds(ended.at.up.time_since_epoch())},
              {"day_us", day_of(ended.at)},
              {"target", ended.target},
              {"service", ended.summary.has_value()}};
    if (ended.summary) {
        const logbook::Summary& summary = *ended.summary;
        json["presses"] = summary.presses;
        json["near_misses"] = summary.near_misses;
        json["restarts"] = summary.restarts;
        json["decided_by"] = summary.decided_by;
        json["action"] = summary.action;
        json["decided_us"] = time_of(summary.decided);
        json["asked_us"] = time_of(summary.asked);
        json["going_down_us"] = time_of(summary.going_down);
    }
    return json;
}

Json why_slow_of(const Run& run) {
    if (!run.stopping) {
        return {{"seen", false}};
    }
    const logbook::Stopping& stopping = *run.stopping;
    return {{"seen", true},
            {"slowest_unit", stopping.slowest},
            {"slowest_us", microseconds(stopping.took)},
            {"timeouts", stopping.timed_out},
            {"unfinished", stopping.unfinished},
            {"reached", stopping.reached}};
}

Json run_of(const Run& run) {
    Json witnessed = Json::array();
    for (const logbook::Witnessed& one : run.witnessed) {
        witnessed.push_back(Json{{"words", one.words}, {"day_us", day_of(one.at)}});
    }
    return {{"run", run.id.number},
            {"boot", run.id.boot},
            {"end", end_word(run.end.end)},
            {"sentence", logbook::sentence_of(run)},
            {"took_us", time_of(run.going_down())},
            {"why_slow", why_slow_of(run)},
            {"off_us", time_of(run.off)},
            {"started", start_of(run)},
            {"ended", end_of(run)},
            {"witnessed", std::move(witnessed)}};
}

Json held_up_of(const logbook::Overview& overview) {
    if (!overview.most) {
        return {};
    }
    return {{"unit", overview.most->unit},
            {"runs", overview.most->runs},
            {"longest_us", microseconds(overview.most->longest)}};
}

}  // namespace

Json summary_json(std::span<const Run> runs) {
    const logbook::Overview overview = logbook::overview_of(runs);
    const auto& longest = overview.longest;
    return {{"runs", overview.runs},
            {"orderly", overview.orderly},
            {"left", overview.left},
            {"lost", overview.lost},
            {"unknown", overview.unknown},
            {"presses", overview.presses},
            {"near_misses", overview.near_misses},
            {"median_us", time_of(overview.median)},
            {"longest_us", longest ? Json(microseconds(longest->time)) : Json()},
            {"longest_run", longest ? Json(longest->run) : Json()},
            {"held_up_most", held_up_of(overview)}};
}

std::string logbook_json(const Pages& pages) {
    Json runs = Json::array();
    for (const Run& run : pages.runs) {
        runs.push_back(run_of(run));
    }
    Json unread = Json::array();
    for (const UnreadLines& one : pages.unread) {
        unread.push_back(Json{{"file", one.file},
                              {"line", one.lines.line},
                              {"lines", one.lines.lines},
                              {"bytes", one.lines.bytes},
                              {"why", word_of(one.lines.why)}});
    }
    const Run* const last = pages.last_judged();
    return json_text("nightlatch-logbook",
                     1,
                     Json{{"file", pages.file},
                          {"last", last == nullptr ? Json() : Json(end_word(last->end.end))},
                          {"proven", pages.witness ? Json(pages.witness->holds) : Json()},
                          {"witness", witness_json(pages.witness)},
                          {"summary", summary_json(pages.runs)},
                          {"runs", std::move(runs)},
                          {"unread", std::move(unread)}});
}

}  // namespace nightlatch::tool
