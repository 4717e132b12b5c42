// SPDX-License-Identifier: MIT
#include "wave/formats.hpp"

#include "wave/csv_reader.hpp"
#include "wave/vcd_reader.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::wave {
namespace {

/// A VCD begins with a keyword [IEEE 1364-2005, 18.2].
bool begins_with_keyword(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    return first != std::string_view::npos && text[first] == '$';
}

bool any_text(std::string_view /*text*/) {
    return true;
}

constexpr std::array all{Format{"VCD", begins_with_keyword, read_vcd},
                         Format{"CSV", any_text, read_csv}};

}  // namespace

std::span<const Format> formats() noexcept {
    return all;
}

CaptureRead read_capture(std::string_view text, std::string_view signal, std::size_t most_edges) {
    const auto* const format =
        std::find_if(all.begin(), all.end(), [&](const Format& one) { return one.is_meant(text); });
    return format->read(text, signal, most_edges);
}

}  // namespace nightlatch::wave
