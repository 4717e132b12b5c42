// SPDX-License-Identifier: MIT
#include "wave/vcd_reader.hpp"

#include "wave/problems.hpp"
#include "wave/samples.hpp"
#include "wave/vcd_changes.hpp"
#include "wave/vcd_choice.hpp"
#include "wave/vcd_header.hpp"
#include "wave/vcd_tokens.hpp"

#include <optional>
#include <utility>

namespace nightlatch::wave {
namespace {

std::optional<Capture> read_signal(VcdFile& file, std::string_view wanted, Samples samples) {
    Problems& problems = file.problems;
    if (!file.header.timescale) {
        problems.error(file.header.end, "no $timescale, without which no time can be told");
    }
    const VcdSignal* const chosen = choose_vcd_signal(file.header, wanted, problems);
    const Duration end = read_vcd_changes(file, chosen, samples);
    if (chosen == nullptr || problems.any_error()) {
        return std::nullopt;
    }
    std::optional<Capture> capture = std::move(samples).capture(chosen->name, end);
    if (!capture) {
        problems.error(chosen->at, in_quotes(chosen->name) + " is never 0 or 1");
    }
    return capture;
}

}  // namespace

CaptureRead read_vcd(std::string_view text, std::string_view signal, std::size_t most_edges) {
    VcdFile file{Problems(text), VcdTokens(text), {}};
    file.tokens.back_to({{}, begin_of_vcd(text)});
    file.header = read_vcd_header(file.tokens, file.problems);
    std::optional<Capture> capture;
    if (file.header.complete) {
        capture = read_signal(file, signal, Samples(most_edges));
    }
    return {std::move(capture), file.problems.listed()};
}

std::vector<std::string> vcd_signals(std::string_view text) {
    Problems unused(text);
    VcdTokens tokens(text);
    tokens.back_to({{}, begin_of_vcd(text)});
    const VcdHeader header = read_vcd_header(tokens, unused);
    std::vector<std::string> names;
    names.reserve(header.signals.size());
    for (const VcdSignal& signal : header.signals) {
        if (is_one_bit(signal)) {
            names.push_back(signal.name);
        }
    }
    return names;
}

}  // namespace nightlatch::wave
