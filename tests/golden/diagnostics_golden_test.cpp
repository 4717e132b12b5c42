// SPDX-License-Identifier: MIT
// One rule, two files: NAME.bad.toml breaks it and NAME.bad.diag is what is said about that;
// NAME.good.toml keeps it by as little as possible, and nothing is said about it.
#include "config/load.hpp"
#include "rehearsal/press_script.hpp"

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <utility>
#include <vector>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::config;
using namespace nightlatch::rehearsal;

namespace {

namespace fs = std::filesystem;

/// What came of a text: was it taken, and what was said.
struct Answer {
    bool taken = false;
    Diagnostics said;
};

using Load = std::function<Answer(const std::string&)>;

Answer load_config(const std::string& text) {
    Loaded loaded = load(text);
    return {loaded.settings.has_value(), std::move(loaded.diagnostics)};
}

Answer load_advice(const std::string& text) {
    Loaded loaded = load(text);
    return {loaded.settings.has_value(), std::move(loaded.advice)};
}

Answer load_script(const std::string& text) {
    LoadedScript loaded = load_press_script(text);
    return {loaded.script.has_value(), std::move(loaded.diagnostics)};
}

std::string content(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    REQUIRE(file.is_open());
    return {std::istreambuf_iterator<char>(file), {}};
}

std::string lines(const Answer& answer, const fs::path& path) {
    std::string text;
    for (const Diagnostic& one : answer.said) {
        text += to_text(one, path.filename().string()) + "\n";
    }
    return text;
}

std::vector<fs::path> files(const fs::path& folder, const std::string& ending) {
    std::vector<fs::path> found;
    for (const auto& entry : fs::directory_iterator(folder)) {
        if (entry.path().filename().string().ends_with(ending)) {
            found.push_back(entry.path());
        }
    }
    std::sort(found.begin(), found.end());
    return found;
}

fs::path with_ending(const fs::path& path, const std::string& ending) {
    const std::string name = path.filename().string();
    return path.parent_path() / (name.substr(0, name.find('.')) + ending);
}

void check_bad(const fs::path& path, const Load& load) {
    INFO(path.filename().string());
    const Answer answer = load(content(path));
    const std::string said = lines(answer, path);
    CHECK_FALSE(said.empty());
    CHECK(answer.taken == !has_errors(answer.said));
    const fs::path expected = with_ending(path, ".bad.diag");
    if (std::getenv("UPDATE_GOLDEN") != nullptr) {
        std::ofstream(expected, std::ios::binary) << said;
    }
    CHECK(said == content(expected));
    CHECK(fs::exists(with_ending(path, ".good.toml")));
}

void check_good(const fs::path& path, const Load& load) {
    INFO(path.filename().string());
    const Answer answer = load(content(path));
    CHECK(lines(answer, path).empty());
    CHECK(answer.taken);
    CHECK(fs::exists(with_ending(path, ".bad.toml")));
}

void check_folder(const std::string& name, std::size_t at_least, const Load& load) {
    const fs::path folder = fs::path(GOLDEN_FOLDER) / name;
    const auto bad = files(folder, ".bad.toml");
    CHECK(bad.size() >= at_least);
    for (const fs::path& path : bad) {
        check_bad(path, load);
    }
    for (const fs::path& path : files(folder, ".good.toml")) {
        check_good(path, load);
    }
    for (const fs::path& path : files(folder, ".diag")) {
        CHECK(fs::exists(with_ending(path, ".bad.toml")));
    }
}

}  // namespace

TEST_CASE("each rule of the configuration speaks of its bad file and is silent on its good one",
          "[config][golden]") {
    check_folder("config", 80, load_config);
}

TEST_CASE("each piece of advice speaks of its bad file and is silent on its good one",
          "[config][golden]") {
    check_folder("advice", 5, load_advice);
}

TEST_CASE("each rule of press scripts speaks of its bad file and is silent on its good one",
          "[script][golden]") {
    check_folder("press", 20, load_script);
}

TEST_CASE("the configurations that we hand out load without a word", "[config][golden]") {
    for (const char* name : {"nightlatch.toml", "examples/tide-logger.toml"}) {
        INFO(name);
        const fs::path path = fs::path(EXAMPLES_FOLDER) / name;
        const Answer answer = load_config(content(path));
        CHECK(lines(answer, path).empty());
        CHECK(answer.taken);
    }
}

TEST_CASE("the configurations that we hand out are advised of no more than they must be",
          "[config][golden]") {
    // Its template has no output, since none is known; the other announces.
    for (const auto& [name, key] : {std::pair{"nightlatch.toml", "feedback"},
                                    std::pair{"examples/tide-logger.toml", "stage.action"}}) {
        INFO(name);
        const Answer answer = load_advice(content(fs::path(EXAMPLES_FOLDER) / name));
        REQUIRE(answer.said.size() == 1);
        CHECK(answer.said[0].key == key);
    }
}
