// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/read.hpp"

#include <string>
#include <vector>

namespace nightlatch::circuit {

/// A circuit as the lines of [circuit] that say all of it, by values alone.
std::vector<NamedText> texts_of(const Circuit& circuit);

/// The same circuit, read from its texts: what is advised about it can be applied.
Circuit read_again(const Circuit& circuit);

/// `circuit` with lines as a person would paste them: `key = "value"`, one a line. Lines of another
/// form are left alone. Nothing when the result is refused.
std::optional<Circuit> with_pasted(const Circuit& circuit, const std::string& lines);

}  // namespace nightlatch::circuit
