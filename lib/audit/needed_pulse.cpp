// SPDX-License-Identifier: MIT
#include "audit/needed_pulse.hpp"

#include "circuit/corners.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace nightlatch::audit {
namespace {

/// Rounded up to microseconds, so that what is said of it suffices.
Duration at_least(double seconds) {
    return std::chrono::microseconds(static_cast<std::int64_t>(std::ceil(seconds * 1e6)));
}

std::optional<Duration> computed_pulse(const config::CircuitSection& section) {
    const circuit::CircuitRead read = read_section(section);
    if (!read.circuit) {
        return std::nullopt;
    }
    const double pulse = circuit::shortest_pulse(circuit::worst_case(*read.circuit).values);
    return std::isfinite(pulse) ? std::optional(at_least(pulse)) : std::nullopt;
}

}  // namespace

circuit::CircuitRead read_section(const config::CircuitSection& section) {
    std::vector<circuit::NamedText> texts;
    texts.reserve(section.texts.size());
    for (const config::CircuitText& one : section.texts) {
        texts.push_back({one.key, one.text, {one.place.line, one.place.column}});
    }
    return circuit::read_circuit(texts);
}

Known<NeededPulse> needed_pulse(const config::Settings& settings) {
    NeededPulse needed;
    needed.stated = settings.post_halt.pulse;
    needed.computed = settings.circuit ? computed_pulse(*settings.circuit) : std::nullopt;
    if (!needed.stated && !needed.computed) {
        return Known<NeededPulse>::missing(
            "[post_halt] pulse, how long the circuit needs the line active" +
            std::string(settings.circuit ? " ([circuit] does not tell: nightlatch circuit)" : ""));
    }
    needed.pulse = std::max(needed.stated.value_or(Duration::zero()),
                            needed.computed.value_or(Duration::zero()));
    return needed;
}

}  // namespace nightlatch::audit
