// SPDX-License-Identifier: MIT
#include "picture/diagram_axis.hpp"
#include "picture/diagram_tags.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::picture;
using namespace nightlatch::wave;
using namespace nightlatch::picture::svg;

namespace {

bool meet(const Box& a, const Box& b) {
    return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height &&
           b.y < a.y + a.height;
}

/// Tags that crowd here and are apart there; a small generator of our own, the same everywhere.
std::vector<Tag> crowded_tags(unsigned seed, std::size_t count, double plot_right) {
    std::vector<Tag> tags;
    tags.reserve(count);
    double x = plot_left;
    for (std::size_t i = 0; i < count; ++i) {
        seed = seed * 1664525U + 1013904223U;
        x = std::min(plot_right, x + (seed >> 24U) % 8U * ((seed >> 20U) % 4U == 0 ? 25.0 : 1.0));
        Tag tag;
        tag.x = x;
        tag.text = std::string("power-off is near ").substr(0, 1 + (seed >> 16U) % 17U) + "W i";
        tag.strong = (seed >> 12U) % 5U == 0;
        if ((seed >> 8U) % 2U == 0) {
            tag.kind = MarkKind::request;
        }
        tags.push_back(std::move(tag));
    }
    return tags;
}

}  // namespace

TEST_CASE("tags with room for them stand on the lowest line", "[diagram]") {
    const std::vector<TagSize> tags{{100, 50, 1}, {200, 50, 2}, {300, 50, 1}};
    for (const auto& row : place(tags, 3)) {
        CHECK(row == 0U);
    }
}

TEST_CASE("tags that crowd are read from above in the order of time", "[diagram]") {
    const std::vector<TagSize> tags{{100, 80, 1}, {110, 80, 2}, {120, 80, 1}};
    const auto rows = place(tags, 9);
    CHECK(rows[2] == 0U);
    CHECK(rows[1] == 1U);
    CHECK(rows[0] == 3U);
}

TEST_CASE("a tag for which there are too few lines is left out, and counted", "[diagram]") {
    const std::vector<TagSize> tags{{100, 80, 1}, {110, 80, 1}, {120, 80, 1}};
    const auto rows = place(tags, 2);
    CHECK_FALSE(rows[0].has_value());
    std::vector<Tag> same(30);
    for (Tag& tag : same) {
        tag.x = 400;
        tag.text = "rest";
    }
    const TagBlock block = draw_tags(same, {Font::small, 100, 1, 8});
    CHECK(block.left_out == 22);
    CHECK(block.texts.size() == 8);
}

TEST_CASE("no text of a tag meets another text or the leader of another tag", "[diagram]") {
    for (unsigned seed = 1; seed <= 40; ++seed) {
        const Across& page = seed % 2 == 0 ? narrow_page : wide_page;
        const std::vector<Tag> tags = crowded_tags(seed, 60, page.plot_right);
        const TagBlock block = draw_tags(tags, {Font::normal, 190, 2, 400, page.label_right});
        REQUIRE(block.left_out == 0);
        REQUIRE(block.texts.size() == tags.size());
        INFO("seed " << seed);
        for (std::size_t i = 0; i < tags.size(); ++i) {
            CHECK(block.texts[i].x + block.texts[i].width <= page.label_right + 1);
            const Box leader{tags[i].x - 0.5, block.texts[i].y + 3, 1, 10'000};
            CHECK(block.texts[i].width > 0);
            CHECK(std::count_if(block.texts.begin(), block.texts.end(), [&](const Box& text) {
                      return meet(text, block.texts[i]);
                  }) == 1);
            CHECK(std::count_if(block.texts.begin(), block.texts.end(), [&](const Box& text) {
                      return &text != &block.texts[i] && meet(text, leader);
                  }) == 0);
        }
    }
}
