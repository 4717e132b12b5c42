// SPDX-License-Identifier: MIT
#include "circuit/read_texts.hpp"

#include "base/nearest.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::circuit {

const NamedText* Texts::find(std::string_view key) const {
    const auto found = std::find_if(
        texts_.begin(), texts_.end(), [&](const NamedText& text) { return text.key == key; });
    return found == texts_.end() ? nullptr : &*found;
}

bool Texts::is_none(std::string_view key) const {
    const NamedText* text = find(key);
    return text != nullptr && text->text == "none";
}

void Texts::problem(const NamedText& text, std::string sentence) {
    problems_.push_back({text.place, text.key, std::move(sentence)});
}

void Texts::missing(std::string_view key, std::string sentence) {
    problems_.push_back({{}, std::string(key), std::move(sentence)});
}

void Texts::single(std::string_view key, Unit unit, Range range, double& value) {
    if (const NamedText* text = find(key)) {
        const auto read = parse_quantity(text->text, unit, range);
        if (read) {
            value = *read;
        } else {
            problem(*text, read.error());
        }
    }
}

std::size_t Texts::word(std::string_view key, std::span<const std::string_view> words) {
    const NamedText* text = find(key);
    if (text == nullptr) {
        return 0;
    }
    const auto found = std::find(words.begin(), words.end(), text->text);
    if (found != words.end()) {
        return static_cast<std::size_t>(found - words.begin());
    }
    std::string list;
    for (const std::string_view one : words) {
        list += (list.empty() ? "" : ", ") + in_quotes(one);
    }
    const auto near = nearest(text->text, words);
    problem(*text, "is one of " + list + (near ? "; did you mean " + in_quotes(*near) + "?" : ""));
    return 0;
}

std::vector<Problem> Texts::take_problems() {
    std::stable_sort(problems_.begin(), problems_.end(), [](const Problem& a, const Problem& b) {
        return std::pair{a.place.line, a.place.column} < std::pair{b.place.line, b.place.column};
    });
    return std::move(problems_);
}

}  // namespace nightlatch::circuit
