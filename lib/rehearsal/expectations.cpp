// SPDX-License-Identifier: MIT
#include "rehearsal/expectations.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"
#include "config/to_toml.hpp"
#include "supervisor/narrate.hpp"

#include <optional>

namespace nightlatch::rehearsal {
namespace {

struct Wanted {
    Duration at;
    Duration within;
    std::string what;  ///< "power-off is asked for"
};

std::string text_of(const Wanted& wanted) {
    return moment_text(wanted.at) + "  " + wanted.what + " (give or take " +
           nightlatch::to_text(wanted.within) + ")";
}

/// The one of the moments that comes nearest to what was wanted.
Checked nearest_to(const Wanted& wanted, const std::vector<Duration>& moments) {
    Checked checked;
    checked.expected = text_of(wanted);
    checked.happened = "never      " + wanted.what;
    std::optional<Duration> least;
    for (const Duration moment : moments) {
        const Duration off = std::chrono::abs(moment - wanted.at);
        if (!least || off < *least) {
            least = off;
            checked.happened = moment_text(moment) + "  " + wanted.what;
        }
    }
    checked.met = least && *least <= wanted.within;
    return checked;
}

Checked check(const ShowsCue& shows, const Rehearsal& rehearsal) {
    const auto cue = cue_at(rehearsal, shows.at);
    return {{},
            cue == shows.cue,
            moment_text(shows.at) + "  " + std::string(core::text_of(shows.cue)) + " is shown",
            moment_text(shows.at) + "  " +
                (cue ? std::string(core::text_of(*cue)) : std::string("nothing")) + " is shown"};
}

Checked check(const BeginsCue& begins, const Rehearsal& rehearsal) {
    std::vector<Duration> moments;
    for (std::size_t i = 0; i < rehearsal.cues.size(); ++i) {
        if (rehearsal.cues[i].name == begins.cue) {
            moments.push_back(rehearsal.timeline.cues[i].at);
        }
    }
    return nearest_to(
        {begins.at, begins.within, std::string(core::text_of(begins.cue)) + " begins"}, moments);
}

Checked check(const AsksFor& asks, const Rehearsal& rehearsal) {
    std::vector<Duration> moments;
    for (const Asked& asked : rehearsal.asked) {
        if (asked.action == asks.action) {
            moments.push_back(asked.at);
        }
    }
    return nearest_to(
        {asks.at, asks.within, std::string(supervisor::text_of(asks.action)) + " is asked for"},
        moments);
}

Checked check(const Announces& announces, const Rehearsal& rehearsal) {
    std::vector<Duration> moments;
    for (const Announced& announced : rehearsal.announced) {
        if (announced.name == announces.stage) {
            moments.push_back(announced.at);
        }
    }
    return nearest_to(
        {announces.at, announces.within, in_quotes(announces.stage) + " is announced"}, moments);
}

Checked check(const RequestCount& requests, const Rehearsal& rehearsal) {
    const std::size_t happened = rehearsal.asked.size();
    return {{},
            happened == requests.count,
            std::to_string(requests.count) + " in all: requests",
            std::to_string(happened) + " in all: requests"};
}

/// Exactly: a duration in its shortest text.
std::string expect_table(Duration at, const std::string& key, const std::string& value) {
    return "\n[[expect]]\nat = " + in_quotes(nightlatch::to_text(at)) + "\n" + key + " = " + value +
           "\n";
}

}  // namespace

std::vector<Checked> check_expectations(const std::vector<Expectation>& expectations,
                                        const Rehearsal& rehearsal) {
    std::vector<Checked> all;
    all.reserve(expectations.size());
    for (const Expectation& one : expectations) {
        all.push_back(
            std::visit([&](const auto& what) { return check(what, rehearsal); }, one.what));
        all.back().place = one.place;
    }
    return all;
}

std::string expectations_of(const Rehearsal& rehearsal) {
    std::string text = "[[expect]]\nrequests = " + std::to_string(rehearsal.asked.size()) + "\n";
    for (const Asked& asked : rehearsal.asked) {
        text += expect_table(asked.at, "asks", in_quotes(supervisor::text_of(asked.action)));
    }
    for (const Announced& announced : rehearsal.announced) {
        text += expect_table(announced.at, "announces", config::toml_string(announced.name));
    }
    for (std::size_t i = 0; i < rehearsal.cues.size(); ++i) {
        text += expect_table(rehearsal.timeline.cues[i].at,
                             "begins",
                             in_quotes(core::text_of(rehearsal.cues[i].name)));
    }
    return text;
}

}  // namespace nightlatch::rehearsal
