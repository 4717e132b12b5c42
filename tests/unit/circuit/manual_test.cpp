// SPDX-License-Identifier: MIT
// nightlatch-circuit(1) says of every key what the program takes.
#include "circuit/assumed.hpp"
#include "circuit/library.hpp"
#include "circuit/parameters.hpp"
#include "circuit/read.hpp"

#include <cctype>
#include <fstream>
#include <iterator>
#include <regex>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::ContainsSubstring;

namespace {

/// As a reader sees it: without the marks of man(7).
std::string manual() {
    std::ifstream file(CIRCUIT_MANUAL);
    REQUIRE(file.is_open());
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    return std::regex_replace(text, std::regex(R"(\\(?=-))"), "");
}

/// What leaving it out means, as the end of its sentence.
std::string when_left_out(const Parameter& parameter) {
    if (is_usually_absent(parameter.key)) {
        return "; none when left out.";
    }
    const std::string none = parameter.absent == Absent::required ? "" : "; or none";
    const Assumed* assumed = assumed_for(parameter.key);
    return assumed == nullptr ? none + "."
                              : none + ";\n" + to_text(assumed->spread, parameter.unit) +
                                    " is assumed when it is left out.";
}

std::string sentence_about(const Parameter& parameter) {
    std::string words(parameter.words);
    words.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(words.front())));
    const auto text = [&](double value) { return to_text(value, parameter.unit); };
    return ".B " + std::string(parameter.key) + "\n" + words + ", " + text(parameter.range.least) +
           " to " + text(parameter.range.most) + when_left_out(parameter) + "\n";
}

}  // namespace

TEST_CASE("The manual names every part with its words, its range and its default") {
    const std::string text = manual();
    for (const Parameter& parameter : parameters()) {
        CHECK_THAT(text, ContainsSubstring(sentence_about(parameter)));
    }
}

TEST_CASE("The manual names every key and every part of the library") {
    const std::string text = manual();
    for (const std::string_view key : circuit_keys()) {
        CHECK_THAT(text, ContainsSubstring(std::string(key)));
    }
    for (const LibraryTransistor& part : library_transistors()) {
        CHECK_THAT(text, ContainsSubstring(std::string(part.name)));
    }
    for (const LibraryDiode& part : library_diodes()) {
        CHECK_THAT(text, ContainsSubstring(std::string(part.name)));
    }
}
