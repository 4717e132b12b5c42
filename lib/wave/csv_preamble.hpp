// SPDX-License-Identifier: MIT
#pragma once

#include "wave/csv_rows.hpp"

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

namespace nightlatch::wave {

/// What the lines before the first row say, as sigrok writes them [libsigrok 0.5.2,
/// src/output/csv.c, gen_header]: "; Channels (2/8): D0, D3" and "; Samplerate: 2.5 MHz".
struct CsvPreamble {
    std::vector<std::string_view>
        channels;                  ///< the names of all columns but a time's and a trigger's
    std::uint64_t rate = 0;        ///< samples a second, 10 GHz at most; 0: not said
    std::optional<CsvLine> first;  ///< the first row
};

CsvPreamble read_csv_preamble(CsvLines& lines);

}  // namespace nightlatch::wave
