// SPDX-License-Identifier: MIT
#pragma once

#include "wave/problems.hpp"
#include "wave/vcd_tokens.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::wave {

/// One `$var`. Views are into the file.
struct VcdSignal {
    std::string name;         ///< full: scopes, dots, bit: "top.panel.bus[0]"
    std::size_t bare_size{};  ///< of `name` without the bit
    std::string_view type;    ///< "wire"
    std::uint64_t size{};     ///< bits
    std::string_view id;      ///< what stands for it in the value changes
    std::size_t at{};         ///< offset of its $var
};

/// One of the two is 1.
struct VcdTimescale {
    std::uint64_t ns_per_tick = 1;
    std::uint64_t ticks_per_ns = 1;
};

struct VcdHeader {
    std::vector<VcdSignal> signals;
    std::optional<VcdTimescale> timescale;
    std::size_t end{};      ///< offset of $enddefinitions, or where its like was missed
    bool complete = false;  ///< else what follows cannot be read
};

/// A declaration's keyword is among the first words: the text is meant as a VCD.
bool declares_signals(std::string_view text) noexcept;

/// Where the first keyword begins, which is where a VCD does [IEEE 1364-2005, 18.2.3]. A program
/// may have put lines of its own before it, as sigrok-cli 0.7.2 does: "META samplerate: 1000". 0
/// when there is none among the first 4,096 characters.
std::size_t begin_of_vcd(std::string_view text) noexcept;

/// Reads the declarations [IEEE 1364-2005, 18.2.3]; `tokens` then stands at the first value change.
/// More than 100,000 signals, or a full name of more than 1,000 characters, are refused.
VcdHeader read_vcd_header(VcdTokens& tokens, Problems& problems);

/// Goes behind the `$end` of the section that `keyword` began.
void skip_vcd_section(VcdTokens& tokens, const VcdToken& keyword, Problems& problems);

}  // namespace nightlatch::wave
