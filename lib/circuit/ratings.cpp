// SPDX-License-Identifier: MIT
#include "circuit/ratings.hpp"

#include "base/text.hpp"
#include "circuit/read_texts.hpp"

#include <array>

namespace nightlatch::circuit {
namespace {

// clang-format off
constexpr std::array<std::string_view, 6> ratings_by_key{
    "resistor_rating", "bleeder_rating", "hold_capacitor_rating", "rail_capacitor_rating",
    "latch_current_limit", "release_current_limit"};
// clang-format on

constexpr std::string_view no_source = "common practice, no source";
constexpr Range watts{0.01, 100.0};
constexpr Range volts{1.0, 1000.0};
constexpr Range amperes{1e-3, 10.0};

/// How much of its voltage a capacitor of the class is used at (common practice, no source): a
/// ceramic one loses its capacitance under bias.
double derating_of(std::string_view kind) {
    return kind == "electrolytic" ? 0.8 : kind == "film" ? 0.7 : 0.5;
}

}  // namespace

std::string to_text(const Setting& setting) {
    return setting.key + " = " + in_quotes(setting.text, uncut);
}

std::span<const std::string_view> rating_keys() noexcept {
    return ratings_by_key;
}

void read_ratings(Texts& texts, Circuit& circuit, std::vector<Assumption>& assumed) {
    Ratings& ratings = circuit.ratings;
    texts.single(ratings_by_key[0], Unit::watt, watts, ratings.resistor);
    texts.single(ratings_by_key[1], Unit::watt, watts, ratings.bleeder);
    texts.single(ratings_by_key[2], Unit::volt, volts, ratings.hold_capacitor);
    texts.single(ratings_by_key[3], Unit::volt, volts, ratings.rail_capacitor);
    texts.single(ratings_by_key[4], Unit::ampere, amperes, circuit.latch.current);
    texts.single(ratings_by_key[5], Unit::ampere, amperes, circuit.release.current);
    if (const NamedText* kind = texts.find("hold_capacitor_class")) {
        ratings.hold_derating = derating_of(kind->text);
    }
    const auto assume = [&](std::string_view key, std::string_view words, double rating) {
        if (!texts.has(key)) {
            assumed.push_back({key, words, Spread::exactly(rating), Unit::watt, no_source});
        }
    };
    assume(ratings_by_key[0], "what each resistor takes", ratings.resistor);
    if (circuit.parts.rail_bleeder.least < infinite) {
        assume(ratings_by_key[1], "what the rail's bleeder takes", ratings.bleeder);
    }
}

}  // namespace nightlatch::circuit
