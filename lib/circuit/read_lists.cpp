// SPDX-License-Identifier: MIT
#include "circuit/read_lists.hpp"

#include "base/text.hpp"

#include <cstddef>

namespace nightlatch::circuit {
namespace {

/// One of "85 mohm at 2.5 V".
struct Pair {
    double value = 0.0;
    double at = 0.0;
};

Result<Pair, std::string> parse_pair(std::string_view item, Unit value, Unit at) {
    const std::size_t word = item.find(" at ");
    if (word == std::string_view::npos) {
        return Unexpected{in_quotes(item) + " has no \"at\": wanted is a value in " +
                          std::string(symbol_of(value)) + " at one in " +
                          std::string(symbol_of(at))};
    }
    const auto first = parse_quantity(item.substr(0, word), value);
    if (!first) {
        return Unexpected{first.error()};
    }
    const auto second = parse_quantity(item.substr(word + 4), at);
    if (!second) {
        return Unexpected{second.error()};
    }
    return Pair{*first, *second};
}

Result<std::vector<Pair>, std::string> parse_pairs(std::string_view text, Unit value, Unit at) {
    std::vector<Pair> pairs;
    pairs.reserve(Diode::most_points);
    while (true) {
        const std::size_t comma = text.find(',');
        const auto pair = parse_pair(text.substr(0, comma), value, at);
        if (!pair) {
            return Unexpected{pair.error()};
        }
        pairs.push_back(*pair);
        if (comma == std::string_view::npos) {
            return pairs;
        }
        text.remove_prefix(comma + 1);
    }
}

}  // namespace

Result<Diode, std::string> parse_drops(std::string_view text) {
    const auto pairs = parse_pairs(text, Unit::volt, Unit::ampere);
    if (!pairs) {
        return Unexpected{pairs.error()};
    }
    if (pairs->size() > Diode::most_points) {
        return Unexpected{std::string("has more than six points")};
    }
    Diode diode;
    for (const Pair& pair : *pairs) {
        const DropPoint* last = diode.count == 0 ? nullptr : &diode.points[diode.count - 1];
        if (last != nullptr && (pair.at <= last->current || pair.value < last->drop)) {
            return Unexpected{std::string("must go by rising current, and the drop rises with it")};
        }
        diode.points[diode.count++] = {pair.at, pair.value};
    }
    return diode;
}

Result<std::vector<OnResistance>, std::string> parse_on_resistances(std::string_view text) {
    const auto pairs = parse_pairs(text, Unit::ohm, Unit::volt);
    if (!pairs) {
        return Unexpected{pairs.error()};
    }
    std::vector<OnResistance> on;
    on.reserve(pairs->size());
    for (const Pair& pair : *pairs) {
        if (!on.empty() && (pair.at <= on.back().gate_drive || pair.value > on.back().ohms)) {
            return Unexpected{
                std::string("must go by rising gate drive, and the resistance falls with it")};
        }
        on.push_back({pair.at, pair.value});
    }
    return on;
}

}  // namespace nightlatch::circuit
