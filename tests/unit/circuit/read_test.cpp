// SPDX-License-Identifier: MIT
#include "circuit/library.hpp"
#include "circuit/parameters.hpp"
#include "circuit/read.hpp"
#include "circuit/transient.hpp"
#include "circuit/wire.hpp"
#include "logger_texts.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::EndsWith;
using Catch::Matchers::WithinRel;

namespace {

std::string only_problem(const Texts& texts) {
    const CircuitRead read = read_circuit(texts);
    REQUIRE(read.problems.size() == 1);
    CHECK_FALSE(read.circuit);
    return read.problems[0].key + " " + read.problems[0].text;
}

}  // namespace

TEST_CASE("A circuit is read from named values, parts from the library, and says what it assumes") {
    const CircuitRead read = read_circuit(logger());
    for (const Problem& problem : read.problems) {
        UNSCOPED_INFO(problem.key << " " << problem.text);
    }
    REQUIRE(read.circuit);
    const Parts<Spread>& parts = read.circuit->parts;
    CHECK(parts.release_threshold == Spread{0.8, 1.3, 1.5});
    CHECK(parts.main_threshold == Spread{0.5, 0.9, 1.3});
    CHECK(read.circuit->main_switch.on.size() == 3);
    CHECK(read.circuit->diode.count == 5);
    CHECK_THAT(parts.bleed_resistor.least, WithinRel(142.5e3, 1e-9));
    CHECK_THAT(parts.hold_capacitor.least, WithinRel(47e-6 * 0.8 * 0.8, 1e-9));
    CHECK_THAT(parts.hold_leakage.most, WithinRel(3e-6, 1e-9));
    CHECK_THAT(parts.wire_resistance.typical, WithinRel(wire_resistance(22, 0.4, 25.0), 1e-9));
    CHECK(read.circuit->pulses.active == 0.1);
    CHECK(std::any_of(
        read.assumptions.begin(), read.assumptions.end(), [](const Assumption& assumption) {
            const std::string one = sentence_of(assumption);
            return one.find("pin's current limit is not stated: 16 mA is assumed") !=
                   std::string::npos;
        }));
    CHECK(simulate(values_at(*read.circuit, everything_typical())).outcome == Outcome::stays_off);
}

TEST_CASE("Own values override those of a named part") {
    const CircuitRead read = read_circuit(logger_with("release_threshold", "1 V, 1.2 V"));
    REQUIRE(read.circuit);
    CHECK(read.circuit->parts.release_threshold.most == 1.2);
    const CircuitRead drops =
        read_circuit(logger_with("diode_drop", "300 mV at 1 mA, 450 mV at 10 mA"));
    REQUIRE(drops.circuit);
    CHECK(drops.circuit->diode.count == 2);
    CHECK(drops.circuit->diode.points[1].drop == 0.45);
}

TEST_CASE("A part is named in capitals or small letters, and told as the library spells it") {
    struct Named {
        const char* key;
        const char* typed;
        const char* spelled;
    };

    for (const Named& part : {Named{"main_switch", "ao3401a", "AO3401A"},
                              Named{"main_switch", "SI2301BDS", "Si2301BDS"},
                              Named{"diode", "bat54", "BAT54"},
                              Named{"hold_capacitor_class", "x7r", "X7R"},
                              Named{"hold_capacitor_class", "Film", "film"}}) {
        INFO(part.typed);
        const auto typed = read_circuit(logger_with(part.key, part.typed)).circuit;
        const auto spelled = read_circuit(logger_with(part.key, part.spelled)).circuit;
        REQUIRE(typed);
        REQUIRE(spelled);
        CHECK(typed->parts.main_threshold == spelled->parts.main_threshold);
        CHECK(typed->parts.hold_capacitor == spelled->parts.hold_capacitor);
        CHECK(typed->diode.count == spelled->diode.count);
        CHECK(std::any_of(
            typed->stated.begin(), typed->stated.end(), [&part](const Setting& setting) {
                return setting.key == part.key && setting.text == part.spelled;
            }));
    }
    CHECK_THAT(only_problem(logger_with("main_switch", "bss138")),
               ContainsSubstring("BSS138 is an N-channel MOSFET"));
    CHECK_THAT(only_problem(logger_with("diode", "bat45")),
               ContainsSubstring("did you mean BAT54?"));
}

TEST_CASE("Parts can be left out where a circuit without them can be built") {
    for (const char* key :
         {"hold_capacitor", "bleed_resistor", "series_resistor", "feed_resistor", "diode"}) {
        INFO(key);
        CHECK(read_circuit(logger_with(key, "none")).circuit);
    }
    CHECK(only_problem(logger_with("gate_pull", "none")) == "gate_pull cannot be left out");
}

TEST_CASE("What is bad is told with what is allowed") {
    CHECK(only_problem(logger_with("hold_capacitor", "22 F")) ==
          "hold_capacitor 22 F is not plausible here; 1 nF to 22 mF is allowed; was 22 uF meant?");
    CHECK_THAT(only_problem(logger_with("halt_current", "400 mA, 150 mA")),
               ContainsSubstring("400 mA comes before 150 mA"));
    CHECK_THAT(only_problem(logger_with("bleed_resistor", "-1 k")), ContainsSubstring("negative"));
    CHECK_THAT(only_problem(logger_with("bleed_resistor", "100")), ContainsSubstring("no unit"));
    CHECK_THAT(only_problem(logger_with("bleed_resistro", "1 k")),
               ContainsSubstring("did you mean bleed_resistor?"));
    CHECK_THAT(only_problem(logger_with("diode", "BAT45")),
               ContainsSubstring("did you mean BAT54? It has ") && EndsWith("of their own."));
    CHECK_THAT(only_problem(logger_with("main_switch", "BSS138")), ContainsSubstring("N-channel"));
    CHECK_THAT(only_problem(logger_with("cut_out", "5 V")),
               ContainsSubstring("the supply may be as low as 4.9 V"));
    CHECK_THAT(only_problem(logger_with("back_feed_voltage", "2 V")),
               ContainsSubstring("together"));
    CHECK_THAT(only_problem(logger_with("main_on_resistance", "60 mohm")),
               ContainsSubstring("\"at\""));
    CHECK_THAT(only_problem(logger_with("main_on_resistance", "50 mohm at 10 V, 60 mohm at 4.5 V")),
               ContainsSubstring("rising gate drive"));
    CHECK_THAT(only_problem(logger_with("diode_drop", "0.4 V at 10 mA, 0.3 V at 1 mA")),
               ContainsSubstring("rising current"));
    CHECK_THAT(only_problem(logger_with("wire_gauge", "22")), ContainsSubstring("0 to 40"));
}

TEST_CASE("All problems come in one run, in the order of their places") {
    Texts texts = logger_with("hold_capacitor", "22 F");
    std::erase_if(texts, [](const NamedText& one) { return one.key == "cut_out"; });
    texts.push_back({"feed_resistor", "1 k", {30, 1}});
    texts.push_back({"supply", "5 V", {31, 1}});
    const CircuitRead read = read_circuit(texts);
    REQUIRE(read.problems.size() == 4);
    CHECK(read.problems[0].text == "is missing: the regulator's cut-out");
    CHECK(read.problems[1].place == nightlatch::Place{11, 1});
    CHECK(read.problems[2].text == "is there twice");
    CHECK(read.problems[3].key == "supply");
}

TEST_CASE("Every value of the library has a source beside it") {
    for (const LibraryTransistor& part : library_transistors()) {
        INFO(part.name);
        CHECK_FALSE(part.threshold.source.empty());
        CHECK_FALSE(part.on_source.empty());
        CHECK((part.gate_limit.value == 0.0 || !part.gate_limit.source.empty()));
        CHECK((part.current_limit.value == 0.0 || !part.current_limit.source.empty()));
        CHECK(part.threshold.value.least < part.threshold.value.most);
        CHECK(find_part(library_transistors(), part.name) == &part);
    }
    for (const LibraryDiode& part : library_diodes()) {
        CHECK_FALSE(part.drop_source.empty());
        CHECK_FALSE(part.leakage.source.empty());
    }
    for (const CapacitorClass& kind : capacitor_classes()) {
        CHECK_FALSE(kind.tolerance.source.empty());
        CHECK_FALSE(kind.bias_loss.source.empty());
    }
}
