// SPDX-License-Identifier: MIT
#include "audit/needed_pulse.hpp"

#include "circuit/corners.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace nightlatch::audit {
namespace {

/// False when the circuit is not complete.
bool compute(const config::CircuitSection& section, NeededPulse& needed) {
    const circuit::CircuitRead read = read_section(section);
    if (!read.circuit) {
        return false;
    }
    const double pulse = circuit::worst_pulse(*read.circuit);
    if (std::isfinite(pulse)) {
        needed.computed = pulse_of(pulse);
        return true;
    }
    needed.none_at_worst = true;
    needed.none_typically = std::isinf(
        circuit::shortest_pulse(circuit::values_at(*read.circuit, circuit::everything_typical())));
    return true;
}

}  // namespace

Duration pulse_of(double seconds) {
    return std::chrono::microseconds(static_cast<std::int64_t>(std::ceil(seconds * 1e6)));
}

circuit::CircuitRead read_section(const config::CircuitSection& section) {
    std::vector<circuit::NamedText> texts;
    texts.reserve(section.texts.size());
    for (const config::CircuitText& one : section.texts) {
        if (one.key.starts_with(config::hold_up_prefix)) {
            continue;  // of the supply before the circuit, which has a reader of its own
        }
        texts.push_back({one.key, one.text, {one.place.line, one.place.column}});
    }
    return circuit::read_circuit(texts);
}

Known<NeededPulse> needed_pulse(const config::Settings& settings) {
    NeededPulse needed;
    needed.stated = settings.post_halt.pulse;
    const bool computed = settings.circuit && compute(*settings.circuit, needed);
    if (!needed.stated && !computed) {
        return Known<NeededPulse>::missing(
            "[post_halt] pulse, how long the circuit needs the line active" +
            std::string(settings.circuit ? " ([circuit] is not complete: nightlatch circuit)"
                                         : ""));
    }
    needed.pulse = std::max(needed.stated.value_or(Duration::zero()),
                            needed.computed.value_or(Duration::zero()));
    return needed;
}

}  // namespace nightlatch::audit
