// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/gpio/survey.hpp"
#include "lines/suits.hpp"
#include "page/page.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct LinesOptions {
    std::vector<std::string> chips;  ///< labels, names or paths; empty: all
    bool all = false;                ///< also lines that are held or do not suit
    bool json = false;
};

/// What `lines` goes by; gathering it changes nothing.
struct LinesFacts {
    gpio::Survey survey;
    std::vector<lines::TreeUse> uses;  ///< empty where the tree could not be seen
    Known<lines::Pins> pins;
    std::vector<std::string> not_seen;  ///< sentences, each told once
};

/// `root`: "" for this machine; below it lie the tree and the pin controllers' view.
LinesFacts gather_lines(const gpio::Places& places, const std::string& root);

/// Keeps only the chips that were asked for. A sentence where one of them is not there.
Result<LinesFacts, std::string> only_chips(LinesFacts facts, const std::vector<std::string>& chips);

/// The verdict, the next action, the lines chip by chip, and what was not seen.
std::string lines_text(const LinesFacts& facts, bool all, const page::Style& style = {});

/// The same for programs, with every line; see nightlatch(1).
std::string lines_json(const LinesFacts& facts);

/// 0: at least one line suits a button; 1: none does.
int lines_status(const LinesFacts& facts);

/// The command as a whole, to standard output and standard error. 2: no such chip.
int run_lines(const LinesOptions& options);

}  // namespace nightlatch::tool
