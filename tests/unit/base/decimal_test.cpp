// SPDX-License-Identifier: MIT
#include "base/decimal.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;

namespace {

using Kind = Decimal::Kind;

/// The value; what is not a number, or too large, fails.
std::int64_t value_of(std::string_view text, int exponent, char mark = '.') {
    INFO(text);
    const Decimal decimal = decimal_of(text, exponent, mark);
    CHECK(decimal.is_number());
    return decimal.value;
}

}  // namespace

TEST_CASE("a number is exact, with sign, mark and exponent", "[decimal]") {
    CHECK(value_of("0", 0) == 0);
    CHECK(value_of("-0.0", 9) == 0);
    CHECK(value_of("1769000000.000000001", 9) == 1'769'000'000'000'000'001);
    CHECK(value_of("-1.5e-3", 9) == -1'500'000);
    CHECK(value_of("+2E3", 0) == 2000);
    CHECK(value_of(".5", 1) == 5);
    CHECK(value_of("5.", 0) == 5);
    CHECK(value_of("1,5", 3, ',') == 1500);
    CHECK(value_of("00000000000000000000000012", 0) == 12);
}

TEST_CASE("what is finer than asked for is rounded to the nearest, halves away from zero",
          "[decimal]") {
    CHECK(value_of("1.4999999999999999999999", 0) == 1);
    CHECK(value_of("1.5", 0) == 2);
    CHECK(value_of("-1.5", 0) == -2);
    CHECK(value_of("0.4", 0) == 0);
    CHECK(value_of("9.99", 1) == 100);
    CHECK(value_of("1e-99999999999999999999", 0) == 0);
}

TEST_CASE("a number ends at 4e18, either way, and never overflows", "[decimal]") {
    CHECK(value_of("4000000000000000000", 0) == 4'000'000'000'000'000'000);
    CHECK(value_of("-4e18", 0) == -4'000'000'000'000'000'000);
    CHECK(value_of("0e99999999999999999999", 99) == 0);
    for (const char* text : {"4000000000000000001",
                             "4000000000000000000.5",
                             "-4000000000000000001",
                             "18446744073709551617",
                             "9999999999999999999",
                             "1e99999999999999999999"}) {
        INFO(text);
        CHECK(decimal_of(text, 0).kind == Kind::too_large);
    }
    CHECK(decimal_of("4000000001", 9).kind == Kind::too_large);
}

TEST_CASE("what is not a number is none", "[decimal]") {
    for (const char* text : {"",
                             ".",
                             "-",
                             "+-1",
                             "1 ",
                             " 1",
                             "1,5",
                             "1.5.5",
                             "1e",
                             "1e+",
                             "0x10",
                             "nan",
                             "inf",
                             "e5"}) {
        INFO(text);
        CHECK(decimal_of(text, 0).kind == Kind::none);
    }
}

TEST_CASE("a number at the front of a text is digits with at most one point between two") {
    CHECK(number_at_front("4 Hz") == "4");
    CHECK(number_at_front("2.5Hz") == "2.5");
    CHECK(number_at_front("10") == "10");
    CHECK(number_at_front("1.2.3") == "1.2");
    for (const char* const none : {"", ".5 s", "4. s", "-4", "+4", "e1", "s"}) {
        INFO(none);
        CHECK(number_at_front(none).empty());
    }
}
