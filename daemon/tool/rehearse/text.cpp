// SPDX-License-Identifier: MIT
#include "base/text.hpp"

#include "base/duration_text.hpp"
#include "daemon/tool/rehearse/rehearse.hpp"
#include "supervisor/narrate.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

namespace nightlatch::tool {
namespace {

using rehearsal::Moment;
using rehearsal::Whose;

/// Edges that come closer together are one bounce.
constexpr Duration longest_pause_in_a_bounce = std::chrono::milliseconds(25);

/// The end of the bounce that begins at `first`.
const rehearsal::Moment* end_of_bounce(const rehearsal::Moment* first,
                                       const rehearsal::Moment* end) {
    const rehearsal::Moment* next = first + 1;
    while (next != end && next->whose == Whose::button &&
           next->at - (next - 1)->at <= longest_pause_in_a_bounce) {
        ++next;
    }
    return next;
}

/// "released (9 edges in 8 ms)", at the first of them.
std::string bounce_text(const rehearsal::Moment* first, const rehearsal::Moment* end) {
    rehearsal::Moment all = *first;
    const rehearsal::Moment& last = *(end - 1);
    const auto count = static_cast<std::size_t>(end - first);
    if (count > 1) {
        all.text = last.text + " (" + std::to_string(count) + " edges in " +
                   nightlatch::to_text(last.at - first->at) + ")";
    }
    return rehearsal::line_of(all) + "\n";
}

/// One line, of a bounce as a whole; moves `one` past it.
std::string next_lines(const rehearsal::Moment*& one, const rehearsal::Moment* end, bool all) {
    if (one->whose != rehearsal::Whose::button || all) {
        const rehearsal::Moment& moment = *one++;
        return moment.whose == rehearsal::Whose::remark ? "\n" + safe(moment.text) + "\n"
                                                        : rehearsal::line_of(moment) + "\n";
    }
    const rehearsal::Moment* const first = one;
    one = end_of_bounce(first, end);
    return bounce_text(first, one);
}

std::string account(const RehearseReport& report) {
    const std::vector<rehearsal::Moment>& moments = report.rehearsal.moments;
    const rehearsal::Moment* const end = moments.data() + moments.size();
    std::string text;
    text.reserve(moments.size() * 64);
    for (const rehearsal::Moment* one = moments.data(); one != end;) {
        text += next_lines(one, end, report.all);
    }
    return text;
}

std::string requests_text(const rehearsal::Rehearsal& rehearsal) {
    const std::size_t count = rehearsal.asked.size();
    if (count == 0) {
        return "the system would not have received a request.\n";
    }
    std::string text = "the system would have received " +
                       (count == 1 ? "one request" : std::to_string(count) + " requests") + ":\n";
    for (const rehearsal::Asked& asked : rehearsal.asked) {
        text += rehearsal::moment_text(asked.at) + "  " +
                std::string(supervisor::text_of(asked.action)) + ", " +
                std::string(rehearsal::text_of(asked.outcome)) + ": " +
                supervisor::tell(asked.why) + "\n";
    }
    return text;
}

std::string announced_text(const rehearsal::Rehearsal& rehearsal) {
    std::string text;
    for (const rehearsal::Announced& one : rehearsal.announced) {
        text += rehearsal::moment_text(one.at) + "  announced: " + in_quotes(one.name) + "\n";
    }
    return text.empty() ? text : "Programs that follow would have been told:\n" + text;
}

}  // namespace

std::string expectations_text(const RehearseReport& report, const page::Style& style) {
    std::string text;
    std::size_t met = 0;
    for (const rehearsal::Checked& one : report.expectations) {
        if (one.met) {
            ++met;
            continue;
        }
        text += safe(report.script) + ":" + std::to_string(one.place.line) + ":" +
                std::to_string(one.place.column) + ": not as expected\n- " + one.expected + "\n+ " +
                one.happened + "\n";
    }
    const std::size_t all = report.expectations.size();
    const std::string words = met < all ? std::to_string(all - met) + " of " +
                                              counted(all, "expectation") +
                                              (all - met == 1 ? " is" : " are") + " not met."
                              : all == 1 ? "The expectation is met."
                                         : "All " + std::to_string(all) + " expectations are met.";
    return text + page::painted(style, words, met == all ? page::Paint::good : page::Paint::bad) +
           "\n";
}

std::string rehearse_text(const RehearseReport& report, const page::Style& style) {
    std::string text = "Rehearsing " + safe(report.config) + " with " + safe(report.script) +
                       ", in virtual time; nothing is asked of this machine.\n\n";
    text += account(report) + "\nAfter " + nightlatch::to_text(report.rehearsal.timeline.end) +
            ": " + requests_text(report.rehearsal) + announced_text(report.rehearsal);
    if (!report.expectations.empty()) {
        text += "\n" + expectations_text(report, style);
    }
    return text;
}

int rehearse_status(const RehearseReport& report) {
    return std::all_of(report.expectations.begin(),
                       report.expectations.end(),
                       [](const rehearsal::Checked& one) { return one.met; })
               ? 0
               : 1;
}

}  // namespace nightlatch::tool
