// SPDX-License-Identifier: MIT
// What the configuration's fuzzer puts its inputs together from: tests/fuzz/config.dict.
#include "config/keys.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <set>
#include <string>
#include <string_view>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::config;

namespace {

/// Words in the order in which they were added, each once.
class Dictionary {
public:
    /// As libFuzzer reads it: in quotes, with '\' before a quote [llvm.org/docs/LibFuzzer.html].
    void add(std::string_view word) {
        std::string line = "\"";
        for (const char c : word) {
            line += c == '"' ? "\\\"" : std::string(1, c);
        }
        line += "\"\n";
        text_ += known_.insert(line).second ? line : "";
    }

    [[nodiscard]] const std::string& text() const { return text_; }

private:
    std::set<std::string> known_;
    std::string text_;
};

std::string in_quotes(std::string_view word) {
    return "\"" + std::string(word) + "\"";
}

std::string words_of_the_format() {
    Dictionary dictionary;
    for (const KnownSection& section : known_sections()) {
        dictionary.add(section.header);
        for (const Key& key : section.keys) {
            dictionary.add(std::string(key.name) + " = ");
            if (!key.part.empty()) {
                dictionary.add("{ " + std::string(key.part) + " = ");
            }
            for (const std::string_view word : key.words) {
                dictionary.add(in_quotes(word));
            }
        }
    }
    for (const char* value : {"3 s", "30 ms", "off", "on", "blink 4 Hz", "pulse 50 ms 50 ms"}) {
        dictionary.add(in_quotes(value));
    }
    return dictionary.text();
}

}  // namespace

TEST_CASE("the configuration's fuzzer has every section, key and word of the format",
          "[config][golden]") {
    if (std::getenv("UPDATE_GOLDEN") != nullptr) {
        std::ofstream(FUZZ_WORDS, std::ios::binary) << words_of_the_format();
    }
    std::ifstream file(FUZZ_WORDS, std::ios::binary);
    CHECK(words_of_the_format() == std::string{std::istreambuf_iterator<char>(file), {}});
}
