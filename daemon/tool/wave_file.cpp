// SPDX-License-Identifier: MIT
#include "daemon/tool/wave_file.hpp"

#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "wave/csv_reader.hpp"
#include "wave/vcd_reader.hpp"

namespace nightlatch::tool {
namespace {

/// Some ten million edges of a value change dump.
constexpr std::size_t most_bytes = std::size_t{256} << 20U;

/// A VCD begins with a keyword [IEEE 1364-2005, 18.2].
bool is_vcd(const std::string& text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    return first != std::string::npos && text[first] == '$';
}

}  // namespace

Result<wave::CaptureRead> read_wave_file(const std::string& path, const std::string& signal) {
    const auto text = facts::read_file("", path, most_bytes);
    if (!text) {
        return Unexpected{Error{Trouble::other, "cannot read " + safe(text.error().text)}};
    }
    return is_vcd(*text) ? wave::read_vcd(*text, signal) : wave::read_csv(*text, signal);
}

std::string problem_text(const wave::Problem& problem, const std::string& path) {
    return safe(path + ":" + std::to_string(problem.line) + ":" + std::to_string(problem.column) +
                (problem.error ? ": error: " : ": warning: ") + problem.text);
}

}  // namespace nightlatch::tool
