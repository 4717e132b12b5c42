// SPDX-License-Identifier: MIT
#include "audit/comparison.hpp"

#include "base/text.hpp"
#include "core/verdict_word.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

using page::Page;
using page::Paint;

constexpr unsigned step = 4;

const GroundsRow* row_of(std::string_view key) {
    const auto rows = grounds_rows();
    const auto it = std::find_if(
        rows.begin(), rows.end(), [&](const GroundsRow& row) { return row.key == key; });
    return it == rows.end() ? nullptr : &*it;
}

Known<std::string> find(const Grounds& grounds, std::string_view key, const char* otherwise) {
    const auto it = grounds.facts.find(key);
    return it == grounds.facts.end() ? Known<std::string>::missing(otherwise) : it->second;
}

void place(Comparison& comparison, Change change) {
    if (change.then && change.now) {
        if (*change.then == *change.now) {
            ++comparison.same;
        } else {
            comparison.changed.push_back(std::move(change));
        }
    } else if (change.then) {
        comparison.unseen.push_back(std::move(change));
    } else if (change.now) {
        comparison.unknown.push_back(std::move(change));
    }
}

std::string verdict_line(const Comparison& comparison) {
    const std::string_view now = core::word_of(comparison.verdict);
    if (!comparison.verdict_then) {
        return std::string(now) + " (then: not known)";
    }
    return std::string(now) + (*comparison.verdict_then == now
                                   ? ", as then"
                                   : " (then: " + *comparison.verdict_then + ")");
}

bool any_matters(const std::vector<Change>& changes) {
    return std::any_of(
        changes.begin(), changes.end(), [](const Change& change) { return change.matters; });
}

void add_changed(Page& page, const Comparison& comparison, bool matters) {
    bool first = true;
    for (const Change& change : comparison.changed) {
        if (change.matters != matters) {
            continue;
        }
        if (std::exchange(first, false)) {
            page.raw(matters ? "\nchanged, and it matters\n"
                             : "\nchanged, and it does not matter\n");
        }
        page.paragraph(std::string(step, ' '), change.key + ": " + change.so, step);
        page.paragraph(std::string(step + step, ' ') + "then: ", *change.then, step + step + 6);
        page.paragraph(std::string(step + step, ' ') + "now:  ", *change.now, step + step + 6);
    }
}

/// One line for all that want the same thing.
void add_unseen(Page& page, const std::vector<Change>& unseen) {
    std::vector<std::pair<std::string, std::string>> groups;
    for (const Change& change : unseen) {
        const std::string& why = change.now.what_is_missing();
        const auto it = std::find_if(
            groups.begin(), groups.end(), [&](const auto& group) { return group.first == why; });
        if (it == groups.end()) {
            groups.emplace_back(why, change.key);
        } else {
            it->second += ", " + change.key;
        }
    }
    if (!groups.empty()) {
        page.raw("\nseen then, not now, because this is missing\n");
    }
    for (const auto& [why, keys] : groups) {
        page.paragraph(std::string(step, ' '), why, step);
        page.paragraph(std::string(step + step, ' ') + "for ", keys, step + step + step);
    }
}

void add_unknown(Page& page, const std::vector<Change>& unknown) {
    std::string keys;
    for (const Change& change : unknown) {
        keys += (keys.empty() ? "" : ", ") + change.key;
    }
    if (!keys.empty()) {
        page.raw("\n");
        page.paragraph("", "seen now, not then: " + keys, step);
    }
}

std::string ending(const Comparison& comparison) {
    if (is_as_it_was(comparison)) {
        return "Nothing that matters has changed.";
    }
    if (any_matters(comparison.changed) || !comparison.verdict_then ||
        *comparison.verdict_then != core::word_of(comparison.verdict)) {
        return "What was found of the unit then is not known of it now. "
               "`nightlatch audit` says more.";
    }
    return "Nothing that was seen has changed, but not all that matters can be seen. "
           "Run it as it was run then: as root, on the unit.";
}

}  // namespace

Comparison compare(const Grounds& then, const Grounds& now, const VerdictResult& verdict) {
    Comparison comparison;
    comparison.verdict = verdict.verdict;
    comparison.reason = verdict.reason;
    if (const auto word = find(then, "verdict", "")) {
        comparison.verdict_then = *word;
    }
    if (const auto version = find(then, "version", "")) {
        comparison.version = *version;
    }
    for (const auto& [key, fact] : then.facts) {
        if (row_of(key) == nullptr && key != "verdict" && key != "version") {
            const auto here = Known<std::string>::missing("a version that looks at it");
            place(comparison, {key, fact, here, false, "This version does not look at it."});
        }
    }
    for (const GroundsRow& row : grounds_rows()) {
        place(comparison,
              {std::string(row.key),
               find(then, row.key, "that version did not look at it"),
               find(now, row.key, "it was not looked for"),
               row.matters,
               std::string(row.so)});
    }
    return comparison;
}

bool is_as_it_was(const Comparison& comparison) {
    return comparison.verdict_then == core::word_of(comparison.verdict) &&
           !any_matters(comparison.changed) && !any_matters(comparison.unseen);
}

std::string to_text(const Comparison& comparison, std::string_view kept, const page::Style& style) {
    Page page(style);
    page.paragraph("verdict: ", verdict_line(comparison), step);
    page.paragraph(std::string(step, ' '), comparison.reason, step);
    page.paragraph("against ",
                   std::string(kept) +
                       (comparison.version.empty() ? "" : ", kept by " + comparison.version) +
                       ": " + counted(comparison.same, "fact is", "facts are") + " the same, " +
                       counted(comparison.changed.size(), "has changed", "have changed"),
                   step);
    add_changed(page, comparison, true);
    add_changed(page, comparison, false);
    add_unseen(page, comparison.unseen);
    add_unknown(page, comparison.unknown);
    page.raw("\n");
    page.paragraph("", ending(comparison), 0);
    return page.str();
}

}  // namespace nightlatch::audit
