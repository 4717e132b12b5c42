// SPDX-License-Identifier: MIT
#include "picture/diagram_palette.hpp"

#include <cmath>
#include <string>

#include <catch2/catch_approx.hpp>
#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::picture::svg;

namespace {

/// The relative luminance of "#rrggbb" [WCAG 2.2, definition "relative luminance"].
double luminance(std::string_view colour) {
    const auto part = [&](std::size_t at) {
        const double value = std::stoi(std::string(colour.substr(at, 2)), nullptr, 16) / 255.0;
        return value <= 0.04045 ? value / 12.92 : std::pow((value + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5);
}

/// [WCAG 2.2, definition "contrast ratio"]
double contrast(std::string_view one, std::string_view other) {
    const double a = luminance(one);
    const double b = luminance(other);
    return (std::max(a, b) + 0.05) / (std::min(a, b) + 0.05);
}

}  // namespace

TEST_CASE("the contrast formula gives the limits of its definition", "[diagram]") {
    CHECK(contrast("#000000", "#ffffff") == Catch::Approx(21));
    CHECK(contrast("#123456", "#123456") == Catch::Approx(1));
}

TEST_CASE("every text has a contrast of 4.5 to 1 with what is behind it", "[diagram]") {
    // WCAG 2.2, success criterion 1.4.3.
    for (const Scheme scheme : {Scheme::light, Scheme::dark}) {
        for (const Pair& pair : text_pairs) {
            const std::string_view front = colour(pair.front, scheme);
            const std::string_view back = colour(pair.back, scheme);
            INFO(front << " on " << back);
            CHECK(contrast(front, back) >= 4.5);
        }
    }
}

TEST_CASE("every line that means something has a contrast of 3 to 1", "[diagram]") {
    // WCAG 2.2, success criterion 1.4.11.
    for (const Scheme scheme : {Scheme::light, Scheme::dark}) {
        for (const Pair& pair : line_pairs) {
            const std::string_view front = colour(pair.front, scheme);
            const std::string_view back = colour(pair.back, scheme);
            INFO(front << " on " << back);
            CHECK(contrast(front, back) >= 3);
        }
    }
}

TEST_CASE("the style sheet has both schemes, and paper takes the light one", "[diagram]") {
    const std::string style = style_and_patterns();
    const std::size_t dark = style.find("@media screen and (prefers-color-scheme:dark)");
    REQUIRE(dark != std::string::npos);
    for (std::size_t i = 0; i < role_count; ++i) {
        const auto role = static_cast<Role>(i);
        CHECK(style.find(colour(role, Scheme::light)) < dark);
        CHECK(style.find(colour(role, Scheme::dark), dark) != std::string::npos);
    }
}
