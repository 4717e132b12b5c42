// SPDX-License-Identifier: MIT
#include "config/load.hpp"
#include "config/to_toml.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::config;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::EndsWith;
using Catch::Matchers::StartsWith;

TEST_CASE("what is printed: a section a paragraph, a key a line, an offset as a number",
          "[config]") {
    const Loaded loaded =
        load("[[stage]]\nname = \"off\"\nhold = \"3000 ms\"\naction = \"reboot\"\n"
             "[button]\nchip = \"soc-gpio\"\nline = 17\npressed = \"high\"\n");
    REQUIRE(loaded.settings);
    const std::string printed = to_toml(*loaded.settings);
    CHECK_THAT(printed,
               StartsWith("[button]\nchip = \"soc-gpio\"\nline = 17\npressed = \"high\"\n"));
    CHECK_THAT(printed,
               ContainsSubstring("\ndebounce = { press = \"30 ms\", release = \"30 ms\" }\n"));
    CHECK_THAT(printed,
               ContainsSubstring("\n\n[[stage]]\nname = \"off\"\nhold = \"3 s\"\naction = "
                                 "\"reboot\"\n\n[leave]\n"));
    CHECK_THAT(printed,
               EndsWith("\n\n[post_halt]\n\n[logbook]\npath = "
                        "\"/var/lib/nightlatch/logbook.jsonl\"\nkeep = 400\n"));
}

TEST_CASE("names with quotes and backslashes survive printing", "[config]") {
    const Loaded loaded = load("[button]\nchip = 'a\"b\\c'\nline = 'ü\\u0041'\npressed = \"low\"\n"
                               "[[stage]]\nname = '\"'\nhold = \"3 s\"\naction = \"announce\"\n");
    REQUIRE(loaded.settings);
    CHECK(loaded.settings->button.where.chip == "a\"b\\c");
    const Loaded again = load(to_toml(*loaded.settings));
    CHECK(again.settings == loaded.settings);
}

TEST_CASE("a look for each stage is printed in one line, by names that may be any text",
          "[config]") {
    const Loaded loaded =
        load("[button]\nchip = 'soc-gpio'\nline = 17\npressed = \"low\"\n"
             "[[stage]]\nname = 'save \"all\" = now.'\nhold = \"1 s\"\naction = \"announce\"\n"
             "[[stage]]\nname = \"off\"\nhold = \"3 s\"\naction = \"power-off\"\n"
             "[[feedback]]\nled = \"lid\"\nready = { off = \"on\" }\n");
    REQUIRE(loaded.settings);
    const std::string printed = to_toml(*loaded.settings);
    CHECK_THAT(
        printed,
        ContainsSubstring("\nready = { \"save \\\"all\\\" = now.\" = \"off\", off = \"on\" }\n"));
    CHECK(load(printed).settings == loaded.settings);
}

TEST_CASE("a button's block says only what was asked for, and loads again as it was", "[config]") {
    const Button by_name{{"soc-gpio", "FRONT_BUTTON"}, true, lines::Bias::as_is};
    CHECK(button_block(by_name) == R"([button]
chip = "soc-gpio"
line = "FRONT_BUTTON"
pressed = "low"
)");
    const Button by_offset{{"a \"label\" \\", "17"}, false, lines::Bias::pull_down};
    for (const Button& button : {by_name, by_offset}) {
        const Loaded loaded =
            load(button_block(button) + "[[stage]]\nname = \"off\"\nhold = \"3 s\"\n"
                                        "action = \"power-off\"\n");
        REQUIRE(loaded.settings);
        CHECK(loaded.settings->button == button);
    }
}

TEST_CASE("a name with marks is printed so that it shows, and reads back as it was", "[config]") {
    const std::string_view text = R"([button]
chip = "soc-gpio"
line = "Gr\u00FCn\u202E\u2028"
pressed = "low"

[[stage]]
name = "off"
hold = "3 s"
action = "power-off"
)";
    const Loaded loaded = load(text);
    REQUIRE(loaded.settings);
    const std::string printed = to_toml(*loaded.settings);
    CHECK_THAT(printed, Catch::Matchers::ContainsSubstring("line = \"Gr\u00FCn\\u202E\\u2028\""));
    const Loaded again = load(printed);
    REQUIRE(again.settings);
    CHECK(again.settings->button.where.line == "Gr\u00FCn\u202E\u2028");
}
