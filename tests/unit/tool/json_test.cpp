// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include <cmath>
#include <limits>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;
using tool::Json;

namespace {

/// The answer whose only member of its own is `value`.
std::string written(Json value) {
    return tool::json_text("nightlatch-test", 3, {{"value", std::move(value)}});
}

/// The same with the value's own text.
std::string around(const std::string& text) {
    return "{\n  \"format\": \"nightlatch-test\",\n  \"version\": 3,\n  \"value\": " + text +
           "\n}\n";
}

}  // namespace

TEST_CASE("an answer begins with its format and version, and its members keep their order",
          "[json]") {
    CHECK(tool::json_text("nightlatch-tide", 2, {{"z", 1}, {"a", true}, {"m", "x"}}) ==
          "{\n  \"format\": \"nightlatch-tide\",\n  \"version\": 2,\n"
          "  \"z\": 1,\n  \"a\": true,\n  \"m\": \"x\"\n}\n");
}

TEST_CASE("an answer of one line has no line end but its own", "[json]") {
    CHECK(tool::json_line("nightlatch-tide", 2, {{"text", "a\nb"}, {"list", Json::array()}}) ==
          "{\"format\":\"nightlatch-tide\",\"version\":2,\"text\":\"a\\nb\",\"list\":[]}\n");
}

TEST_CASE("every value is written as what it is", "[json]") {
    CHECK(written(nullptr) == around("null"));
    CHECK(written(false) == around("false"));
    CHECK(written(std::numeric_limits<std::int64_t>::min()) == around("-9223372036854775808"));
    CHECK(written(std::size_t{17}) == around("17"));
    CHECK(written(0.5) == around("0.5"));
    CHECK(written("LID \"1\"\n") == around(R"("LID \"1\"\n")"));
    CHECK(written(Json::array()) == around("[]"));
    CHECK(written(Json::object()) == around("{}"));
    CHECK(written(std::vector<std::string>{"a"}) == around("[\n    \"a\"\n  ]"));
    CHECK(written(Json{{"only", 1}}) == around("{\n    \"only\": 1\n  }"));
    CHECK(written(std::optional<double>()) == around("null"));
    CHECK(written(std::optional<double>(99.5)) == around("99.5"));
}

TEST_CASE("what JSON has no word for is null", "[json]") {
    CHECK(written(std::numeric_limits<double>::infinity()) == around("null"));
    CHECK(written(std::nan("")) == around("null"));
}

TEST_CASE("a byte that is not UTF-8 is replaced, and the rest stays", "[json]") {
    CHECK(written("Ponton \xc3\xa4\xff!") == around("\"Ponton \xc3\xa4\xef\xbf\xbd!\""));
}

TEST_CASE("members and elements are added one by one", "[json]") {
    Json json = Json::object();
    json["list"] = Json::array();
    json["list"].push_back(1);
    json["list"].push_back("b");
    json["late"] = nullptr;
    json["late"] = 2;
    CHECK(written(json) ==
          around("{\n    \"list\": [\n      1,\n      \"b\"\n    ],\n    \"late\": 2\n  }"));
}

TEST_CASE("a time is whole microseconds, rounded down", "[json]") {
    CHECK(tool::microseconds(1500ns) == 1);
    CHECK(tool::microseconds(-1ns) == -1);
    CHECK(written(tool::microseconds_of(0.25)) == around("250000"));
    CHECK(written(tool::microseconds_of(-1e-7)) == around("-1"));
    CHECK(written(tool::microseconds_of(std::numeric_limits<double>::infinity())) ==
          around("null"));
    CHECK(written(tool::microseconds_of(1e300)) == around("null"));
}
