// SPDX-License-Identifier: MIT
// Any bytes give settings or diagnostics, never a crash, and what they give keeps its promises. Run
// with the sanitizers it also shows that the TOML library behind it is not led astray.
#include "base/text.hpp"
#include "config/load.hpp"
#include "config/to_toml.hpp"
#include "mutator.hpp"
#include "rehearsal/press_script.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::config;
using namespace nightlatch::rehearsal;
using test::Dice;

namespace {

namespace fs = std::filesystem;

/// The texts of the files below a folder whose names end so.
std::vector<std::string> texts_in(const fs::path& folder, const std::string& ending) {
    std::vector<fs::path> paths;
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        if (entry.path().string().ends_with(ending)) {
            paths.push_back(entry.path());
        }
    }
    std::sort(paths.begin(), paths.end());  // so that a seed means the same everywhere
    std::vector<std::string> texts;
    for (const fs::path& path : paths) {
        std::ifstream file(path, std::ios::binary);
        texts.emplace_back(std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>());
    }
    // Those with 20,000 bounces would take all the time.
    std::erase_if(texts, [](const std::string& text) { return text.find("00 x") != text.npos; });
    REQUIRE(texts.size() >= 2);
    return texts;
}

/// An empty string, or the promise that is broken.
std::string broken(const Diagnostics& said, bool taken) {
    if (taken == has_errors(said)) {
        return "taken exactly when there is no error";
    }
    if (!std::is_sorted(said.begin(), said.end(), [](const Diagnostic& a, const Diagnostic& b) {
            return a.place < b.place;
        })) {
        return "by place";
    }
    for (const Diagnostic& one : said) {
        if (one.place.line < 1 || one.place.column < 1 || one.key.empty() || one.text.empty() ||
            !is_safe(one.key) || !is_safe(one.text) || one.text.size() > 1000) {
            return "a place, a key and a printable sentence: " + to_text(one, "");
        }
    }
    return {};
}

std::string broken(const Settings& settings) {
    const Loaded again = load(to_toml(settings));
    if (again.settings != settings) {
        return "what is printed loads to the same settings:\n" + to_toml(settings);
    }
    const auto& stages = settings.core.stages;
    if (stages.empty() || !std::is_sorted(stages.begin(), stages.end(), [](auto& a, auto& b) {
            return a.hold < b.hold;
        })) {
        return "stages by hold";
    }
    const bool held = std::all_of(stages.begin(), stages.end(), [&](const core::Stage& stage) {
        return stage.hold > settings.core.press_interval && stage.hold < settings.core.stuck_after;
    });
    return held ? "" : "every hold between the press interval and stuck_after";
}

std::string broken(const PressScript& script) {
    Level level = script.level_at_start;
    Duration at{};
    for (const ScriptEvent& event : script.events) {
        if (event.at < at) {
            return "events in order of time";
        }
        at = event.at;
        if (const auto* moves = std::get_if<ButtonMoves>(&event.step)) {
            if (moves->level == level) {
                return "each move is to the other level";
            }
            level = moves->level;
        }
    }
    return script.end < at ? "the end is not before the last event" : "";
}

struct Tally {
    int taken = 0;
    int refused_by_rule = 0;
    int no_toml = 0;
};

void count(Tally& tally, const Diagnostics& said, bool taken) {
    const bool syntax = !said.empty() && said.front().key == "syntax";
    ++(taken ? tally.taken : syntax ? tally.no_toml : tally.refused_by_rule);
}

void check_config(const std::string& text, Tally& tally) {
    const Loaded loaded = load(text);
    count(tally, loaded.diagnostics, loaded.settings.has_value());
    const std::string promise = broken(loaded.diagnostics, loaded.settings.has_value());
    const std::string more = loaded.settings ? broken(*loaded.settings) : "";
    if (!promise.empty() || !more.empty()) {
        FAIL(promise << more << "\nof this text:\n" << text);
    }
}

void check_script(const std::string& text, Tally& tally) {
    const LoadedScript loaded = load_press_script(text);
    count(tally, loaded.diagnostics, loaded.script.has_value());
    const std::string promise = broken(loaded.diagnostics, loaded.script.has_value());
    const std::string more = loaded.script ? broken(*loaded.script) : "";
    if (!promise.empty() || !more.empty()) {
        FAIL(promise << more << "\nof this text:\n" << text);
    }
}

/// A run that never got past the parser would have shown nothing.
void check_spread(const Tally& tally, int runs) {
    UNSCOPED_INFO("taken " << tally.taken << ", refused by a rule " << tally.refused_by_rule
                           << ", no TOML " << tally.no_toml);
    CHECK(tally.taken > runs / 50);
    CHECK(tally.refused_by_rule > runs / 50);
    CHECK(tally.no_toml > runs / 50);
}

}  // namespace

TEST_CASE("random bytes are judged, never followed", "[config][script][bytes]") {
    Dice dice(test::seed_for("random bytes"));
    Tally tally;
    for (int i = 0; i < 3'000; ++i) {
        const std::string text = test::random_bytes(dice, 300);
        check_config(text, tally);
        check_script(text, tally);
    }
    CHECK(tally.no_toml > 0);
}

TEST_CASE("damaged configurations give settings that keep every promise, or diagnostics",
          "[config][bytes]") {
    Dice dice(test::seed_for("damaged configurations"));
    const fs::path folder = fs::path(GOLDEN_FOLDER) / "config";
    auto texts = texts_in(folder, ".good.toml");
    for (const std::string& ours : texts_in(CONFIG_FOLDER, ".toml")) {
        texts.push_back(ours);
    }
    const auto others = texts_in(folder, ".toml");
    Tally tally;
    constexpr int runs = 6'000;
    for (int i = 0; i < runs; ++i) {
        check_config(test::mutated(dice, texts, others), tally);
    }
    check_spread(tally, runs);
}

TEST_CASE("damaged press scripts give scripts that keep every promise, or diagnostics",
          "[script][bytes]") {
    Dice dice(test::seed_for("damaged press scripts"));
    const fs::path folder = fs::path(GOLDEN_FOLDER) / "press";
    const auto texts = texts_in(folder, ".good.toml");
    const auto others = texts_in(folder, ".toml");
    Tally tally;
    constexpr int runs = 6'000;
    for (int i = 0; i < runs; ++i) {
        check_script(test::mutated(dice, texts, others), tally);
    }
    check_spread(tally, runs);
}
