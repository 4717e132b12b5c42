// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/read.hpp"
#include "config/settings.hpp"
#include "daemon/tool/circuit/circuit.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::tool {

/// A commented [circuit]: five values to fill in, and common practice for what else has to be
/// stated.
std::string starter();

/// A circuit of which nothing is wrong, and not enough is stated.
struct UnknownCircuit {
    struct Missing {
        std::string key;
        std::string words;                         ///< "the feed resistor"
        std::optional<circuit::Setting> practice;  ///< the starter's line, where it has one
    };

    std::vector<Missing> missing;  ///< what nobody else can say first, then what decides most
    /// With the starter's lines in their places; nothing while one is missing that it has none for.
    std::optional<circuit::Assessment> assuming;
};

/// Nothing when there is no problem, or one that is not a value left out.
std::optional<UnknownCircuit> unknown_in(const config::CircuitSection& section,
                                         const circuit::CircuitRead& read);

std::string unknown_text(const UnknownCircuit& unknown, const page::Style& style);
std::string unknown_json(const UnknownCircuit& unknown, const std::string& file);

}  // namespace nightlatch::tool
