// SPDX-License-Identifier: MIT
#pragma once

#include "config/load.hpp"
#include "daemon/tool/circuit/circuit.hpp"
#include "daemon/tool/json.hpp"
#include "hold_up/assess.hpp"
#include "hold_up/read.hpp"
#include "page/page.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::tool {

/// What lib/hold_up makes of [circuit.hold_up] in a whole configuration's text, whose alarms and
/// stages say how a failure is noticed.
hold_up::HoldUpRead read_hold_up(const config::CircuitSection& section, std::string_view text);

/// The budget as a table, and what would be enough.
void add_hold_up(page::Page& page, const hold_up::Assessed& assessed);

/// An object with nothing but `text` of each.
void add_texts(Json& json, const std::vector<std::string>& texts);

Json hold_up_json(const hold_up::Assessed& assessed);

/// A circuit's and a hold-up's findings alike.
void add_findings(page::Page& page, const std::vector<circuit::Finding>& found);
Json findings_json(const std::vector<circuit::Finding>& findings);

/// The command for a file of whose circuit nothing but the hold-up is stated.
int run_hold_up(const CircuitOptions& options,
                const std::string& file,
                const hold_up::HoldUpRead& read);

}  // namespace nightlatch::tool
