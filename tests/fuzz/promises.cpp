// SPDX-License-Identifier: MIT
#include "fuzz/promises.hpp"

#include "base/text.hpp"

#include <algorithm>

namespace nightlatch::test {
namespace {

using namespace bootfiles;

bool inside(const FileLine& place, const Texts& texts) {
    const auto text = texts.find(place.file);
    if (text == texts.end()) {
        return false;
    }
    const auto ends = std::count(text->second.begin(), text->second.end(), '\n');
    return place.line >= 1 && place.line <= static_cast<unsigned>(ends) + 1;
}

/// A doubt has its reason, for people; what is sure has none.
bool reasoned(Certainty certainty, std::string_view condition) {
    return (certainty == Certainty::yes) == condition.empty() && is_safe(condition) &&
           condition.size() <= 2'000;
}

std::string broken(const OverlayUse& use, const Texts& texts) {
    if (!inside(use.place, texts) || use.name.empty()) {
        return "an overlay has a name, and a place inside the text";
    }
    if (!reasoned(use.certainty, use.condition)) {
        return "an overlay that does not surely apply says why, and only such a one: " +
               use.condition;
    }
    for (const Parameter& one : use.parameters) {
        if (!inside(one.place, texts) || one.certainty == Certainty::no ||
            !reasoned(one.certainty, one.condition)) {
            return "a parameter has a place, and a doubt its reason: " + one.condition;
        }
    }
    return {};
}

template <class Item>
bool shifted_by_one(const std::vector<Item>& items,
                    const std::vector<Item>& shifted,
                    std::string_view file) {
    return std::equal(items.begin(),
                      items.end(),
                      shifted.begin(),
                      shifted.end(),
                      [&](const Item& one, const Item& other) {
                          const unsigned by = one.place.file == file ? 1 : 0;
                          return one.place.file == other.place.file &&
                                 one.place.line + by == other.place.line;
                      });
}

}  // namespace

std::string broken(const Intent& intent, const Texts& texts) {
    if (intent.overlays.size() > 4'096 || intent.early_lines.size() > 16'384 ||
        intent.remarks.size() > 257) {
        return "no text makes an intent large";
    }
    std::size_t parameters = 0;
    for (const OverlayUse& use : intent.overlays) {
        if (std::string promise = broken(use, texts); !promise.empty()) {
            return promise;
        }
        parameters += use.parameters.size();
    }
    if (parameters > 16'384) {
        return "no text makes an intent large";
    }
    for (const EarlyLine& line : intent.early_lines) {
        if (!inside(line.place, texts) || line.line > 63 || (line.input && line.output) ||
            !reasoned(line.certainty, line.condition)) {
            return "an early line has a place and one direction, and a doubt its reason";
        }
    }
    for (const Remark& remark : intent.remarks) {
        if (!inside(remark.place, texts) || remark.text.empty() || remark.text.size() > 500 ||
            !is_safe(remark.text)) {
            return "a remark is a printable sentence with a place: " + remark.text;
        }
    }
    return {};
}

std::string broken_by_shift(const Intent& intent, const Intent& shifted) {
    const bool kept = shifted_by_one(intent.overlays, shifted.overlays, intent.file) &&
                      shifted_by_one(intent.early_lines, shifted.early_lines, intent.file) &&
                      shifted_by_one(intent.remarks, shifted.remarks, intent.file);
    return kept ? "" : "a comment before everything moves each place by one line, and no more";
}

}  // namespace nightlatch::test
