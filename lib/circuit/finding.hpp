// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <string>
#include <vector>

namespace nightlatch::circuit {

/// One thing worth knowing, worst first.
struct Finding {
    enum class Weight : unsigned char {
        failure,  ///< it does not work, or breaks something
        warning,  ///< it works outside what is published, or only just
        note,
    };
    Weight weight = Weight::note;
    std::string id;        ///< stable, for machines: "pin-overload"
    std::string sentence;  ///< what it is, with numbers
    std::string remedy;    ///< what to do; may be empty for a note
    /// The remedy as lines of [circuit], computed: with them this finding is gone, and none is
    /// added but those that the remedy names. Empty where nothing that was tried does it.
    std::vector<Setting> settings{};
};

}  // namespace nightlatch::circuit
