// SPDX-License-Identifier: MIT
// What each row of the table of keys promises.
#include "config/keys.hpp"
#include "config/load.hpp"
#include "config/to_toml.hpp"
#include "support/varied_settings.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::config;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

const std::string what_must_be = R"([button]
chip = "soc-gpio"
line = "LID_BUTTON"
pressed = "low"

[[stage]]
name = "off"
hold = "3 s"
action = "power-off"

[[alarm]]
name = "battery low"
chip = "soc-gpio"
line = "BATTERY_LOW"
active = "low"

)";

/// The one diagnostic of a configuration in which the key has that value.
Diagnostic said_of(const KnownSection& section,
                   const Key& key,
                   std::size_t at,
                   const KeyValue& value) {
    Settings settings = test::whole_settings();
    key.member.set(settings, at, value);
    const Loaded loaded = load(to_toml(settings));
    CHECK_FALSE(loaded.settings);
    REQUIRE(loaded.diagnostics.size() == 1);
    CHECK(loaded.diagnostics[0].key == full_name(section, key));
    return loaded.diagnostics[0];
}

}  // namespace

TEST_CASE("every key is printed, its default too, and read again as it was", "[config]") {
    const std::string whole = to_toml(test::whole_settings());
    test::for_each_varied([&](const test::Varied& varied) {
        const std::string printed = to_toml(varied.settings);
        INFO(printed);
        CHECK(printed != whole);
        CHECK_THAT(whole, ContainsSubstring("\n" + std::string(varied.key.name) + " = "));
        CHECK(load(printed).settings == varied.settings);
    });
}

TEST_CASE("a duration out of its range is refused, and the range told", "[config]") {
    for (const KnownSection& section : known_sections()) {
        for (const Key& key : section.keys) {
            if (key.kind == Kind::duration) {
                // No duration at all is longer than 24 h.
                const Duration beyond =
                    key.range.most < 24h ? key.range.most + 1us : key.range.least - 1us;
                const Diagnostic said = said_of(section, key, 0, beyond);
                CHECK_THAT(said.text, ContainsSubstring("allowed: " + to_text(key.range)));
            }
        }
    }
}

TEST_CASE("a number out of its range is refused, and the range told", "[config]") {
    for (const KnownSection& section : known_sections()) {
        for (const Key& key : section.keys) {
            if (key.kind == Kind::count) {
                for (const std::size_t beyond : {key.counts.least - 1, key.counts.most + 1}) {
                    const Diagnostic said = said_of(section, key, 0, beyond);
                    CHECK_THAT(said.text, ContainsSubstring("allowed: " + to_text(key.counts)));
                }
                CHECK(load(what_must_be + std::string(section.header) + "\n" +
                           std::string(key.name) + " = " + std::to_string(key.counts.most))
                          .settings);
            }
        }
    }
}

TEST_CASE("a name that is too long is refused, and the length told", "[config]") {
    test::for_each_varied([](const test::Varied& varied) {
        if (varied.key.longest > 0) {
            const std::string text(varied.key.longest + 1, 'a');
            CHECK_THAT(said_of(varied.section, varied.key, varied.at, text).text,
                       ContainsSubstring("at most " + std::to_string(varied.key.longest)));
        }
    });
}

TEST_CASE("a word that is none of a key's is refused, and each of them told", "[config]") {
    test::for_each_varied([](const test::Varied& varied) {
        if (varied.key.kind != Kind::word) {
            return;
        }
        const std::string whole = to_toml(test::whole_settings());
        const std::string line = "\n" + std::string(varied.key.name) + " = \"";
        std::string text = whole;
        text.insert(text.find(line, text.find(varied.section.header)) + line.size(), "x-");
        const Loaded loaded = load(text);
        REQUIRE(loaded.diagnostics.size() == 1);
        for (const std::string_view word : varied.key.words) {
            CHECK_THAT(loaded.diagnostics[0].text, ContainsSubstring(std::string(word)));
        }
    });
}

TEST_CASE("a key that must be given is missed", "[config]") {
    for (const KnownSection& section : known_sections()) {
        for (const Key& key : section.keys) {
            if (key.absent != Absent::wrong || key.goes_with != GoesWith::anything) {
                continue;
            }
            std::string text = what_must_be;
            const std::size_t line =
                text.find("\n" + std::string(key.name) + " = ", text.find(section.header));
            text.erase(line, text.find('\n', line + 1) - line);
            const Loaded loaded = load(text);
            REQUIRE(loaded.diagnostics.size() == 1);
            CHECK(loaded.diagnostics[0].key == full_name(section, key));
            CHECK_THAT(loaded.diagnostics[0].text, StartsWith("is missing"));
        }
    }
}

TEST_CASE("the configuration takes every cue that the core has", "[config]") {
    const std::string config = what_must_be + "[[feedback]]\nled = \"lid\"\n";
    for (const core::CueName cue : core::all_cues) {
        const std::string name(core::text_of(cue));
        const Loaded loaded = load(config + name + " = \"on\"\n");
        REQUIRE(loaded.settings);
        CHECK(loaded.diagnostics.empty());
        for (const core::CueName other : core::all_cues) {
            const core::Pattern& shown =
                loaded.settings->feedback[0].looks.by_cue[static_cast<std::size_t>(other)];
            CHECK((shown.kind == core::PatternKind::on) == (other == cue));
        }
        const std::string line = name + " = \"on\"\n";
        CHECK_THAT(to_toml(*loaded.settings), ContainsSubstring("\n" + line));
    }
}
