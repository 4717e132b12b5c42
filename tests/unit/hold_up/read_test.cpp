// SPDX-License-Identifier: MIT
#include "hold_up/assess.hpp"
#include "hold_up/keys.hpp"
#include "hold_up/read.hpp"

#include <cctype>
#include <fstream>
#include <iterator>
#include <map>
#include <regex>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::hold_up;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::WithinRel;

namespace {

using Texts = std::map<std::string, std::string>;

const Texts good{{"capacity", "10 F -10 +30 %"},
                 {"esr", "30 mohm"},
                 {"from_voltage", "4.9 V, 5.0 V, 5.1 V"},
                 {"cut_out", "2.7 V"},
                 {"efficiency", "80 %, 88 %"},
                 {"power", "2.5 W, 3.5 W"},
                 {"time_to_go_down", "12 s"}};

/// The good ones with some changed; an empty text leaves the key out. Each on a line of its own.
HoldUpRead reading(const Texts& changes, const Surroundings& surroundings) {
    Texts all = good;
    for (const auto& [key, text] : changes) {
        all[key] = text;
    }
    std::vector<circuit::NamedText> texts{{"supply_voltage", "nonsense", {1, 1}}};
    unsigned line = 2;
    for (const auto& [key, text] : all) {
        if (!text.empty()) {
            texts.push_back({std::string(prefix) + key, text, {line, 10}});
        }
        ++line;
    }
    return read_hold_up(texts, surroundings);
}

Surroundings pontoon() {
    return {true, {{"supply low", 2.0, false}, {"battery low", 10.0, true}}, 0.03, 8.2};
}

std::string only_problem(const Texts& changes) {
    const HoldUpRead read = reading(changes, pontoon());
    CHECK_FALSE(read.hold_up);
    if (read.problems.size() != 1) {
        return std::to_string(read.problems.size()) + " problems";
    }
    return read.problems.front().key + ": " + read.problems.front().text;
}

std::string manual() {
    std::ifstream file(CIRCUIT_MANUAL);
    REQUIRE(file.is_open());
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    return std::regex_replace(text, std::regex(R"(\\(?=-))"), "");
}

}  // namespace

TEST_CASE("a whole hold-up is read, with the longest alarm", "[hold_up]") {
    const HoldUpRead read = reading({}, pontoon());
    REQUIRE(read.hold_up);
    const HoldUp& hold_up = *read.hold_up;
    CHECK(hold_up.unit == Unit::farad);
    CHECK(hold_up.capacity == Spread{9.0, 10.0, 13.0});
    CHECK(hold_up.end_of_life == Spread{0.7, 1.0, 1.0});
    CHECK(hold_up.esr == Spread{0.03, 0.03, 0.06});
    CHECK_THAT(hold_up.efficiency.least, WithinRel(0.8, 1e-12));
    CHECK_THAT(hold_up.efficiency.typical, WithinRel(0.84, 1e-12));
    CHECK(hold_up.noticed_after == Spread::exactly(10.0));
    CHECK(read.notice.by == Notice::By::alarm);
    CHECK(read.notice.name == "battery low");
    CHECK(read.notice.respects);
    REQUIRE(read.assumptions.size() == 3);
    CHECK_THAT(read.assumptions[2], ContainsSubstring("\"battery low\" is assumed"));
}

TEST_CASE("an alarm is chosen by name, and its line is debounced", "[hold_up]") {
    HoldUpRead read = reading({{"alarm", "supply low"}}, pontoon());
    REQUIRE(read.hold_up);
    CHECK(read.hold_up->noticed_after.most == 2.0);
    CHECK_FALSE(read.notice.respects);
    Surroundings slow = pontoon();
    slow.debounce = 3.0;
    read = reading({{"alarm", "supply low"}}, slow);
    REQUIRE(read.hold_up);
    CHECK(read.hold_up->noticed_after.most == 3.0);
    CHECK_THAT(only_problem({{"alarm", "suply low"}}),
               ContainsSubstring("hold_up.alarm: no [[alarm]] with action = \"power-off\" is named "
                                 "so; did you mean \"supply low\"?"));
}

TEST_CASE("without an alarm the longest hold and the grace count", "[hold_up]") {
    Surroundings surroundings = pontoon();
    surroundings.alarms.clear();
    const HoldUpRead read = reading({}, surroundings);
    REQUIRE(read.hold_up);
    CHECK(read.hold_up->noticed_after.most == 8.2);
    CHECK(read.notice.by == Notice::By::button);
}

TEST_CASE("a draft says by itself how soon the failure is noticed", "[hold_up]") {
    const HoldUpRead without = reading({}, {});
    REQUIRE(without.problems.size() == 1);
    CHECK(without.problems.front().key == "hold_up.noticed_after");
    CHECK(without.problems.front().place == Place{});
    const HoldUpRead read = reading({{"noticed_after", "1 s, 4 s"}}, {});
    REQUIRE(read.hold_up);
    CHECK(read.hold_up->noticed_after == Spread{1.0, 2.5, 4.0});
    CHECK(read.notice.by == Notice::By::stated);
}

TEST_CASE("a cell's capacity is a charge or an energy", "[hold_up]") {
    HoldUpRead read = reading({{"capacity", "20 mAh"}}, pontoon());
    REQUIRE(read.hold_up);
    CHECK(read.hold_up->unit == Unit::ampere_hour);
    CHECK(read.hold_up->end_of_life.least == 0.8);
    read = reading({{"capacity", "0.4 Wh, 0.5 Wh"}}, pontoon());
    REQUIRE(read.hold_up);
    CHECK(read.hold_up->unit == Unit::watt_hour);
}

TEST_CASE("a current is the store's own, or the board's behind a converter", "[hold_up]") {
    HoldUpRead read = reading({{"power", ""}, {"efficiency", ""}, {"current", "0.5 A"}}, pontoon());
    REQUIRE(read.hold_up);
    CHECK_FALSE(read.hold_up->is_constant_power());
    read = reading({{"power", ""}, {"current", "0.5 A"}, {"board_voltage", "5 V"}}, pontoon());
    REQUIRE(read.hold_up);
    CHECK(read.hold_up->is_constant_power());
    // 0.5 A at 5 V behind 80 % are 3.125 W out of the store.
    CHECK(worst_budget(*read.hold_up).exact.power == 2.5 / 0.8);
}

TEST_CASE("each mistake is told once, with its key and what is wanted", "[hold_up]") {
    struct Row {
        Texts changes;
        const char* told;
    };

    const std::vector<Row> rows{
        {{{"capacity", ""}}, "hold_up.capacity: is missing: of a capacitor in F, of a cell in Ah"},
        {{{"capacity", "10"}}, "hold_up.capacity: \"10\" has no unit; a number with its unit"},
        {{{"capacity", "20 kF"}}, "hold_up.capacity: \"20 kF\" has an unknown unit"},
        {{{"capacity", "10 A"}}, "hold_up.capacity: \"10 A\" is in A, but"},
        {{{"capacity", "22 uF"}}, "hold_up.capacity: 22 uF is not plausible here; 100 uF to"},
        {{{"capacity", "none"}}, "hold_up.capacity: cannot be none"},
        {{{"esr", ""}}, "hold_up.esr: is missing: the ESR"},
        {{{"from_voltage", ""}}, "hold_up.from_voltage: is missing: the store's voltage"},
        {{{"from_voltage", "2.6 V"}},
         "hold_up.from_voltage: is 2.6 V, but it ends at 2.7 V already"},
        {{{"cut_out", ""}}, "hold_up.cut_out: is missing: the converter's input voltage"},
        {{{"efficiency", ""}}, "hold_up.efficiency: is missing: what the converter hands on"},
        {{{"efficiency", "120 %"}}, "hold_up.efficiency: 1.2 is not plausible here; 0.05 to 1"},
        {{{"efficiency", "85"}}, "hold_up.efficiency: 85 is not plausible here"},
        {{{"power", ""}, {"efficiency", ""}}, "hold_up.power: is missing: the board's power"},
        {{{"current", "1 A"}}, "hold_up.current: is stated beside power; one of the two is wanted"},
        {{{"board_voltage", "5 V"}}, "hold_up.board_voltage: goes with current; with power it has"},
        {{{"power", ""}, {"current", "1 A"}},
         "hold_up.efficiency: goes with power, or with current"},
        {{{"time_to_go_down", ""}}, "hold_up.time_to_go_down: is missing: the time to go down"},
        {{{"time_to_go_down", "12"}}, "hold_up.time_to_go_down: \"12\" has no unit"},
        {{{"time_to_go_down", "20 s, 12 s"}}, "hold_up.time_to_go_down: 20 s comes before 12 s"},
        {{{"margin", "5"}}, "hold_up.margin: \"5\" has no unit"},
        {{{"noticed_after", "1 s"}, {"alarm", "supply low"}},
         "hold_up.alarm: is stated beside noticed_after; one of the two is wanted"},
        {{{"cutout", "2.7 V"}}, "hold_up.cutout: is unknown; did you mean cut_out?"}};
    for (const Row& row : rows) {
        CHECK_THAT(only_problem(row.changes), ContainsSubstring(row.told));
    }
}

TEST_CASE("the lines of each change, put into the configuration, are enough", "[hold_up]") {
    const Texts scarce{{"alarm", "supply low"}, {"time_to_go_down", "9.6 s"}, {"margin", "1 s"}};
    const HoldUpRead before = reading(scarce, pontoon());
    REQUIRE(before.hold_up);
    const Assessed assessed = assess(*before.hold_up, before.notice);
    REQUIRE_FALSE(assessed.is_enough());
    REQUIRE(assessed.changes.size() == 5);
    for (const Change& change : assessed.changes) {
        CAPTURE(change.line);
        const std::size_t equals = change.line.find(" = \"");
        REQUIRE(equals != std::string::npos);
        const std::string key = change.line.substr(0, equals);
        const std::string text = change.line.substr(equals + 4, change.line.size() - equals - 5);
        Texts changed = scarce;
        Surroundings surroundings = pontoon();
        if (key == "lasting") {
            surroundings.alarms.front().lasting =
                circuit::parse_quantity(text, circuit::Unit::second).value();
        } else {
            changed[key] = text;
        }
        const HoldUpRead after = reading(changed, surroundings);
        REQUIRE(after.hold_up);
        CHECK(assess(*after.hold_up, after.notice).is_enough());
    }
}

TEST_CASE("The manual names every key of the hold-up with its words and its range") {
    const std::string text = manual();
    for (const std::string_view name : key_names()) {
        CHECK_THAT(text, ContainsSubstring(".B " + std::string(name) + "\n"));
    }
    for (const Key& key : keys()) {
        CHECK_THAT(text,
                   ContainsSubstring(std::string(key.words).substr(4) + ", " +
                                     to_text(key.range.least, key.unit) + " to " +
                                     to_text(key.range.most, key.unit)));
    }
}
