// SPDX-License-Identifier: MIT
// The hold-up's budget as a person and a script meet it.
#include "run_tool.hpp"
#include "support/temporary_directory.hpp"

#include <cstdlib>
#include <fstream>
#include <string>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;
using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;
using Json = nlohmann::json;

namespace {

const std::string button = R"([button]
chip = "soc-gpio"
line = "FRONT_BUTTON"
pressed = "low"

[[stage]]
name = "off"
hold = "3 s"
action = "power-off"

[leave]
grace = "5 s"

)";

const std::string mast_alarm = R"([[alarm]]
name = "mast supply"
chip = "soc-gpio"
line = "MAST_LOW"
active = "low"
lasting = "2 s"
inhibitors = "override"

)";

/// The reserve of the tide gauge on its pontoon.
const std::string reserve = R"([circuit.hold_up]
capacity = "10 F -10 +30 %"
esr = "30 mohm"
from_voltage = "4.9 V, 5.0 V, 5.1 V"
cut_out = "2.7 V"
efficiency = "80 %, 88 %"
power = "2.5 W, 3.5 W"
)";

class HoldUpFile {
public:
    explicit HoldUpFile(const std::string& text) { std::ofstream(file_) << text; }

    [[nodiscard]] const std::string& name() const { return file_; }

    [[nodiscard]] Ran circuit(const std::string& arguments = "") const {
        return run_tool("circuit " + arguments + " " + file_);
    }

private:
    TemporaryDirectory folder_;
    std::string file_ = folder_.path() + "/pontoon.toml";
};

std::string example_with(const std::string& more) {
    std::ifstream file(TREE "/config/examples/tide-logger.toml");
    return std::string{std::istreambuf_iterator<char>(file), {}} + "\n" + more;
}

}  // namespace

TEST_CASE("a hold-up that is too short is a finding, with what would be enough",
          "[tool][hold_up]") {
    const HoldUpFile file(button + mast_alarm + reserve + "time_to_go_down = \"12 s\"\n");
    const Ran ran = file.circuit();
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out, ContainsSubstring("hold-up: too little\n"));
    CHECK_THAT(ran.out, ContainsSubstring("failure hold-up\n"));
    CHECK_THAT(ran.out, ContainsSubstring("until the alarm \"mast supply\" asks"));
    CHECK_THAT(ran.out, ContainsSubstring("      capacity = \"13.5 F, 15 F, 19.5 F\"\n"));
    CHECK_THAT(ran.out, ContainsSubstring("Mind, of the store: "));
    const Json json = Json::parse(file.circuit("--json").out);
    CHECK(json.at("fine") == false);
    CHECK(json.at("found").at(0).at("id") == "hold-up");
    const Json& worst = json.at("hold_up").at("worst");
    CHECK(worst.at("noticed_us") == 2'000'000);
    const long left = worst.at("lasts_us").get<long>() - 14'000'000;
    CHECK(std::abs(worst.at("margin_us").get<long>() - left) <= 1);
}

TEST_CASE("a hold-up that is enough ends with 0", "[tool][hold_up]") {
    const HoldUpFile file(button + mast_alarm + reserve + "time_to_go_down = \"6 s\"\n");
    const Ran ran = file.circuit();
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, ContainsSubstring("hold-up: enough\n"));
    CHECK(Json::parse(file.circuit("--json").out).at("hold_up").at("what_ifs").empty());
}

TEST_CASE("without an alarm hold and grace count, and that is a finding", "[tool][hold_up]") {
    const HoldUpFile file(button + reserve + "time_to_go_down = \"1 s\"\n");
    const Ran ran = file.circuit("--json");
    CHECK(ran.status == 1);
    const Json json = Json::parse(ran.out);
    CHECK(json.at("found").at(0).at("id") == "hold-up-unnoticed");
    CHECK(json.at("hold_up").at("noticed_by") == "button");
    const long noticed = json.at("hold_up").at("worst").at("noticed_us").get<long>();
    CHECK(std::abs(noticed - 8'030'000) <= 1);  // 3 s, 30 ms and 5 s
}

TEST_CASE("beside a whole circuit the hold-up is one of its sections", "[tool][hold_up]") {
    // The longest alarm of the example lasts 10 s.
    const HoldUpFile enough(example_with(reserve + "time_to_go_down = \"1 s\"\n"));
    const Ran ran = enough.circuit();
    INFO(ran.out);
    CHECK_THAT(ran.out, ContainsSubstring("stays off: yes\n"));
    CHECK_THAT(ran.out, ContainsSubstring("\nHold-up: when the supply fails\n"));
    const HoldUpFile scarce(example_with(reserve + "time_to_go_down = \"12 s\"\n"));
    const Ran bad = scarce.circuit("--json");
    CHECK(bad.status == 1);
    const Json json = Json::parse(bad.out);
    CHECK(json.at("stays_off") == "yes");
    CHECK(json.at("found").at(0).at("id") == "hold-up");
    CHECK(json.at("hold_up").at("enough") == false);
}

TEST_CASE("what is wrong with a hold-up is told where it stands, by check too", "[tool][hold_up]") {
    const HoldUpFile file(button + mast_alarm + reserve +
                          "time_to_go_down = \"12\"\nlife = \"1\"\n");
    const Ran ran = file.circuit();
    CHECK(ran.status == 2);
    CHECK(ran.err == file.name() +
                         ":29:19: error: circuit.hold_up.time_to_go_down: \"12\" has no unit; a "
                         "number with its unit is wanted: \"100 ms\", \"2.5 s\"\n" +
                         file.name() +
                         ":30:8: error: circuit.hold_up.life: is unknown; did you mean "
                         "end_of_life?\n");
    const Ran check = run_tool("check " + file.name());
    CHECK(check.status == 2);
    CHECK_THAT(check.out, ContainsSubstring(":29:19: error: circuit.hold_up.time_to_go_down"));
    const HoldUpFile missing(button + mast_alarm + reserve);
    CHECK(missing.circuit().err == missing.name() +
                                       ":22:1: error: circuit.hold_up.time_to_go_down: is "
                                       "missing: the time to go down\n");
}

TEST_CASE("a hold-up alone has no circuit to draw", "[tool][hold_up]") {
    const HoldUpFile file(button + mast_alarm + reserve + "time_to_go_down = \"6 s\"\n");
    const Ran ran = file.circuit("--netlist");
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, ContainsSubstring("has nothing of the circuit but [circuit.hold_up]"));
}
