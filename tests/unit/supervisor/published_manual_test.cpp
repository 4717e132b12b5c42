// SPDX-License-Identifier: MIT
// nightlatchd(8) says of the object on the bus what there is: no more, no less.
#include "supervisor/published.hpp"

#include <fstream>
#include <iterator>
#include <regex>
#include <string>
#include <vector>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::supervisor;

namespace {

using Strings = std::vector<std::string>;

std::string content(const char* path) {
    std::ifstream file(path);
    REQUIRE(file.is_open());
    return {std::istreambuf_iterator<char>(file), {}};
}

/// Every first group, in the order of the text.
Strings found(const std::string& text, const char* form) {
    const std::regex wanted(form);
    Strings all;
    for (auto each = std::sregex_iterator(text.begin(), text.end(), wanted);
         each != std::sregex_iterator();
         ++each) {
        all.push_back((*each)[1]);
    }
    return all;
}

/// The table below this heading of the manual.
std::string table(const std::string& heading) {
    const std::string manual = content(SERVICE_MANUAL);
    const std::size_t at = manual.find("\n.SS " + heading + "\n.TS\n");
    REQUIRE(at != std::string::npos);
    const std::size_t end = manual.find("\n.TE\n", at);
    REQUIRE(end != std::string::npos);
    // Without the marks of man(7) at hyphens.
    return std::regex_replace(manual.substr(at, end - at), std::regex(R"(\\-)"), "-");
}

}  // namespace

TEST_CASE("the manual's table has each property of the interface, with its type") {
    const std::string properties = table("Properties");
    const std::string xml = content(INTERFACE);
    const Strings names = found(xml, R"re(<property name="(\w+)")re");
    CHECK(names.size() == 14);
    CHECK(found(properties, R"(\n(\w+)\t\S+\tT\{)") == names);
    CHECK(found(properties, R"(\n\w+\t(\S+)\tT\{)") ==
          found(xml, R"re(<property name="\w+" type="([^"]+)")re"));
}

TEST_CASE("the manual's table has each reason code of the program") {
    Strings codes;
    for (const ReasonCode code : all_reason_codes) {
        codes.emplace_back(text_of(code));
    }
    CHECK(found(table("\"Reason codes\""), R"(\n([a-z-]+)\tT\{)") == codes);
}
