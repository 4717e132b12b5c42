// SPDX-License-Identifier: MIT
#include "base/duration_text.hpp"
#include "daemon/service/narrate.hpp"
#include "daemon/tool/moment_text.hpp"
#include "daemon/tool/rehearse.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

namespace nightlatch::tool {
namespace {

using service::Lane;
using service::Moment;

constexpr std::size_t most_edges_one_by_one = 8;

std::string count_of(std::size_t number, const std::string& what) {
    return std::to_string(number) + " " + what + (number == 1 ? "" : "s");
}

/// Many edges with nothing between them are one line.
std::string edges_text(const Moment* first, const Moment* last) {
    std::string text;
    const auto count = static_cast<std::size_t>(last - first);
    if (count <= most_edges_one_by_one) {
        for (const Moment* one = first; one != last; ++one) {
            text += line_of(*one) + "\n";
        }
        return text;
    }
    Moment all = *first;
    const Moment& end = *(last - 1);
    all.text = end.text + " after " + std::to_string(count) + " edges in " +
               nightlatch::to_text(end.at - first->at);
    return line_of(all) + "\n";
}

/// One line, or as many as the edges from `one` on take; moves `one` past them.
std::string next_lines(const Moment*& one, const Moment* end, bool all) {
    if (one->lane != Lane::button || all) {
        const Moment& moment = *one++;
        return moment.lane == Lane::remark ? "\n" + moment.text + "\n" : line_of(moment) + "\n";
    }
    const Moment* const first = one;
    one = std::find_if(one, end, [](const Moment& other) { return other.lane != Lane::button; });
    return edges_text(first, one);
}

std::string account(const RehearseReport& report) {
    const std::vector<Moment>& moments = report.rehearsal.moments;
    const Moment* const end = moments.data() + moments.size();
    std::string text;
    text.reserve(moments.size() * 64);
    for (const Moment* one = moments.data(); one != end;) {
        text += next_lines(one, end, report.all);
    }
    return text;
}

std::string requests_text(const service::Rehearsal& rehearsal) {
    const std::size_t count = rehearsal.asked.size();
    if (count == 0) {
        return "the system would not have been asked for anything.\n";
    }
    std::string text = "the system would have been asked " +
                       (count == 1 ? "once" : std::to_string(count) + " times") + ":\n";
    for (const service::Asked& asked : rehearsal.asked) {
        text += moment_text(asked.at) + "  " + std::string(service::text_of(asked.action)) + ", " +
                std::string(service::text_of(asked.outcome)) +
                (asked.why.empty() ? "" : ": " + asked.why) + "\n";
    }
    return text;
}

std::string announced_text(const service::Rehearsal& rehearsal) {
    std::string text;
    for (const service::Announced& one : rehearsal.announced) {
        text += moment_text(one.at) + "  announced: " + config::in_quotes(one.name) + "\n";
    }
    return text.empty() ? text : "Those who follow would have been told:\n" + text;
}

}  // namespace

std::string short_moment(Duration at) {
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%.3f s", std::chrono::duration<double>(at).count());
    return text.data();
}

std::string moment_text(Duration at) {
    const std::string text = short_moment(at);
    constexpr std::size_t width = 11;
    return text.size() < width ? std::string(width - text.size(), ' ') + text : text;
}

std::string expectations_text(const RehearseReport& report) {
    std::string text;
    std::size_t met = 0;
    for (const Checked& one : report.expectations) {
        if (one.met) {
            ++met;
            continue;
        }
        text += report.script + ":" + std::to_string(one.place.line) + ":" +
                std::to_string(one.place.column) + ": not as expected\n- " + one.expected + "\n+ " +
                one.happened + "\n";
    }
    const std::size_t all = report.expectations.size();
    return text + (met == all
                       ? (all == 1 ? "The expectation is met.\n"
                                   : "All " + std::to_string(all) + " expectations are met.\n")
                       : std::to_string(all - met) + " of " + count_of(all, "expectation") +
                             (all - met == 1 ? " is" : " are") + " not met.\n");
}

std::string rehearse_text(const RehearseReport& report) {
    std::string text = "Rehearsing " + report.config + " with " + report.script +
                       ", in virtual time; nothing is asked of this machine.\n\n";
    text += account(report) + "\nAfter " + nightlatch::to_text(report.rehearsal.timeline.end) +
            ": " + requests_text(report.rehearsal) + announced_text(report.rehearsal);
    if (!report.expectations.empty()) {
        text += "\n" + expectations_text(report);
    }
    return text;
}

int rehearse_status(const RehearseReport& report) {
    return std::all_of(report.expectations.begin(),
                       report.expectations.end(),
                       [](const Checked& one) { return one.met; })
               ? 0
               : 1;
}

}  // namespace nightlatch::tool
