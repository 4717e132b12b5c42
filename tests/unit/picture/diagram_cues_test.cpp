// SPDX-License-Identifier: MIT
#include "core/cue.hpp"
#include "picture/diagram_cues.hpp"
#include "picture/diagram_palette.hpp"

#include <set>
#include <string>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::picture::svg;

TEST_CASE("every cue but rest is known by a pattern of its own, which the picture defines",
          "[diagram]") {
    const std::string defined = style_and_patterns();
    std::set<std::string_view> seen;
    for (const core::CueName cue : core::all_cues) {
        const std::string_view pattern = pattern_of(core::text_of(cue));
        INFO(core::text_of(cue));
        CHECK(pattern.empty() == (cue == core::CueName::rest));
        CHECK(seen.insert(pattern).second);
        if (!pattern.empty()) {
            CHECK(defined.find("." + std::string(pattern) + "{fill:url(") != std::string::npos);
        }
    }
    CHECK(pattern_of("tide").empty());
}
