// SPDX-License-Identifier: MIT
#include "audit/needed_pulse.hpp"
#include "base/text.hpp"
#include "circuit/corners.hpp"
#include "config/load.hpp"
#include "fuzz/fuzz.hpp"
#include "hold_up/assess.hpp"
#include "hold_up/read.hpp"

#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

using namespace nightlatch;
using namespace nightlatch::circuit;

namespace {

/// An empty string, or the promise that is broken.
std::string broken(const Transient& run, const Values& values) {
    for (const double time :
         {run.released_at, run.opened_at, run.rail_fall, run.hold_off, run.margin}) {
        if (std::isnan(time)) {
            return "a time is a number";
        }
    }
    if (run.hold_off < 0.0 || run.rail_fall < 0.0 || run.released_at > run.opened_at) {
        return "times go forward";
    }
    if (run.hold_voltage > values.parts.line_high || run.hold_voltage < -1e-9) {
        return "the capacitor is charged from the line";
    }
    if (run.outcome == circuit::Outcome::stays_off && !(run.margin >= 0.0)) {
        return "what stays off has a margin";
    }
    return {};
}

std::string broken(const Circuit& circuit) {
    Position position = everything_typical();
    for (const double place : {0.5, 0.0, 1.0}) {
        position.fill(place);
        const Values values = values_at(circuit, position);
        if (std::string promise = broken(simulate(values), values); !promise.empty()) {
            return promise;
        }
    }
    return {};
}

std::string broken(const CircuitRead& read) {
    if (read.circuit.has_value() == !read.problems.empty()) {
        return "taken exactly when there is no problem";
    }
    for (const Problem& one : read.problems) {
        if (one.text.empty() || one.place.line < 1 || !is_safe(one.text)) {
            return "a problem has a printable sentence: " + one.text;
        }
    }
    return read.circuit ? broken(*read.circuit) : std::string{};
}

std::string broken(const hold_up::HoldUpRead& read) {
    if (read.hold_up.has_value() == !read.problems.empty()) {
        return "taken exactly when there is no problem";
    }
    for (const Problem& one : read.problems) {
        if (one.text.empty() || !is_safe(one.text)) {
            return "a problem has a printable sentence: " + one.text;
        }
    }
    if (!read.hold_up) {
        return {};
    }
    const hold_up::Assessed assessed = hold_up::assess(*read.hold_up, read.notice);
    for (const hold_up::Budget& one : {assessed.typical, assessed.worst}) {
        if (!std::isfinite(one.margin) || !(one.lasts >= 0.0) || !std::isfinite(one.stored)) {
            return "every number of a budget is finite";
        }
    }
    for (const hold_up::Change& one : assessed.changes) {
        if (one.margin < read.hold_up->margin) {
            return "a change is enough: " + one.words;
        }
    }
    return assessed.worst.margin <= assessed.typical.margin ? "" : "the worst corner is the worst";
}

std::string broken_hold_up(const config::CircuitSection& section) {
    std::vector<NamedText> texts;
    for (const config::CircuitText& one : section.texts) {
        texts.push_back({one.key, one.text, one.place});
    }
    return broken(hold_up::read_hold_up(texts, {true, {{"supply low", 2.0, true}}, 0.03, 3.0}));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto loaded = config::load_circuit({reinterpret_cast<const char*>(data), size});
    if (loaded.section && !config::has_errors(loaded.diagnostics)) {
        test::expect_kept(broken(audit::read_section(*loaded.section)));
        test::expect_kept(broken_hold_up(*loaded.section));
    }
    return 0;
}
