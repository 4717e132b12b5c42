// SPDX-License-Identifier: MIT
#include "base/result.hpp"

#include <memory>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;

namespace {

Result<int> half(int number) {
    if (number % 2 != 0) {
        return Unexpected{Error{Trouble::unsupported, "odd"}};
    }
    return number / 2;
}

}  // namespace

TEST_CASE("a result is a value or the reason why there is none", "[result]") {
    const auto good = half(6);
    REQUIRE(good);
    CHECK(*good == 3);
    const auto bad = half(5);
    REQUIRE_FALSE(bad.has_value());
    CHECK(bad.error().trouble == Trouble::unsupported);
    CHECK(bad.error().text == "odd");
}

TEST_CASE("a result can hold what only moves", "[result]") {
    Result<std::unique_ptr<int>> owned(std::make_unique<int>(7));
    const std::unique_ptr<int> taken = std::move(*owned);
    CHECK(*taken == 7);
}

TEST_CASE("value and error may be of one type", "[result]") {
    const Result<std::string, std::string> bad = Unexpected{std::string("why")};
    CHECK_FALSE(bad);
    CHECK(bad.error() == "why");
}
