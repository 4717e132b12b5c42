// SPDX-License-Identifier: MIT
#include "daemon/tool/wave_file.hpp"

#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "wave/formats.hpp"

namespace nightlatch::tool {
namespace {

/// Some ten million edges of a value change dump.
constexpr std::size_t most_bytes = std::size_t{256} << 20U;

}  // namespace

Result<wave::CaptureRead> read_wave_file(const std::string& path, const WaveChoice& choice) {
    std::optional<wave::Thresholds> thresholds;
    if (choice.threshold) {
        const auto read = wave::parse_thresholds(*choice.threshold);
        if (!read) {
            return Unexpected{Error{Trouble::other, read.error()}};
        }
        thresholds = *read;
    }
    const auto text = facts::read_named_file(path, most_bytes);
    if (!text) {
        return Unexpected{Error{Trouble::other, "cannot read " + safe(text.error().text)}};
    }
    return wave::read_capture({path, *text}, choice.signal, thresholds);
}

void describe_wave_choice(Options& options, WaveChoice& into) {
    options.text("--signal NAME", into.signal, "Its signal, where it has several")
        .needs("--wave")
        .text("--threshold VOLTS",
              into.threshold,
              "From where on a voltage is high, \"1.6 V\" or \"0.8 V, 2.0 V\"")
        .needs("--wave");
}

std::string problem_text(const wave::Problem& problem, const std::string& path) {
    return safe(path + ":" + std::to_string(problem.line) + ":" + std::to_string(problem.column) +
                (problem.error ? ": error: " : ": warning: ") + problem.text);
}

}  // namespace nightlatch::tool
