// SPDX-License-Identifier: MIT
#pragma once

#include "audit/finding.hpp"

#include <utility>

namespace nightlatch::audit {

/// What a rule has to say, collected while it looks.
class Findings {
public:
    /// Each gives the new finding, for its evidence and remedy; valid until the next.
    Finding& error(std::string place, std::string sentence) {
        return add(Severity::error, std::move(place), std::move(sentence));
    }

    Finding& warning(std::string place, std::string sentence) {
        return add(Severity::warning, std::move(place), std::move(sentence));
    }

    Finding& note(std::string place, std::string sentence) {
        return add(Severity::note, std::move(place), std::move(sentence));
    }

    [[nodiscard]] bool empty() const noexcept { return found_.findings.empty(); }

    /// What was found, or else the pass with what was seen to be right.
    Judgement or_pass(std::string sentence) {
        return empty() ? Judgement{Pass{std::move(sentence)}} : Judgement{std::move(found_)};
    }

    Judgement or_else(Judgement otherwise) {
        return empty() ? std::move(otherwise) : Judgement{std::move(found_)};
    }

private:
    Finding& add(Severity severity, std::string place, std::string sentence) {
        found_.findings.push_back({severity, std::move(place), std::move(sentence), {}, {}});
        return found_.findings.back();
    }

    Found found_;
};

}  // namespace nightlatch::audit
