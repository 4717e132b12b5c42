// SPDX-License-Identifier: MIT
// What fuzzers put their inputs together from: tests/fuzz/config.dict and logbook.dict.
#include "config/keys.hpp"
#include "logbook/record_text.hpp"
#include "logbook/summary_text.hpp"
#include "unit/logbook/made.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <regex>
#include <set>
#include <string>
#include <string_view>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
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

/// A record of each kind that has every member.
std::string full_records() {
    logbook::Started started = test::started(2);
    started.at.day = logbook::DayClock::time_point{};
    started.stopping = logbook::Stopping{"", {}, {"tide-upload.service"}, {"gauge.service"}, ""};
    const logbook::Witnessed witnessed{test::run_id(1), {}, "rail to 0 V", "line = 6\n"};
    return logbook::line_of(started) + logbook::line_of(test::ended(2)) +
           logbook::line_of(witnessed);
}

/// Each member with what separates it from its value, of the summary's keys too.
std::string words_of_the_logbook() {
    Dictionary dictionary;
    const std::string records = full_records();
    const std::regex member("\"[a-z0-9_]+\":(?:\"(?:started|ended|witnessed)\")?");
    for (std::sregex_iterator at(records.begin(), records.end(), member), end; at != end; ++at) {
        dictionary.add(at->str());
    }
    const std::string summary = logbook::summary_text(*test::ended(2).summary);
    const std::regex key("[a-z_]+ = ");
    for (std::sregex_iterator at(summary.begin(), summary.end(), key), end; at != end; ++at) {
        dictionary.add(at->str());
    }
    for (const char* word : {"fsck-log", "kernel", "f2fs-status", "pstore", "recovery", "clean"}) {
        dictionary.add(in_quotes(word));
    }
    for (const char* word : {"nightlatch-run 1\\x0a", "9223372036854775807", "\\\\u0000", "true"}) {
        dictionary.add(word);
    }
    return dictionary.text();
}

void check_words(const char* path, const std::string& words) {
    if (std::getenv("UPDATE_GOLDEN") != nullptr) {
        std::ofstream(path, std::ios::binary) << words;
    }
    std::ifstream file(path, std::ios::binary);
    CHECK(words == std::string{std::istreambuf_iterator<char>(file), {}});
}

}  // namespace

TEST_CASE("the configuration's fuzzer has every section, key and word of the format",
          "[config][golden]") {
    check_words(FUZZ_WORDS "/config.dict", words_of_the_format());
}

TEST_CASE("the logbook's fuzzer has every member of a record", "[logbook][golden]") {
    check_words(FUZZ_WORDS "/logbook.dict", words_of_the_logbook());
}
