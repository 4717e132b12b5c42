// SPDX-License-Identifier: MIT
#include "audit/lines_named.hpp"

namespace nightlatch::audit {

std::vector<NamedLine> lines_of(const config::Settings& settings) {
    std::vector<NamedLine> lines{{"button", settings.button.where}};
    if (settings.post_halt.where) {
        lines.push_back({"post_halt", *settings.post_halt.where});
    }
    for (const config::Feedback& feedback : settings.feedback) {
        if (const auto* line = std::get_if<config::FeedbackLine>(&feedback.output)) {
            lines.push_back({"feedback", line->where});
        }
    }
    return lines;
}

}  // namespace nightlatch::audit
