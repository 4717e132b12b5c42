// SPDX-License-Identifier: MIT
#include "run_tool.hpp"
#include "support/temporary_directory.hpp"

#include <algorithm>
#include <cstdlib>
#include <map>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

using Json = nlohmann::json;

const std::string worked_example = TREE "/config/examples/tide-logger.toml";

using Changes = std::map<std::string, std::string>;

/// The worked example's circuit with some keys changed, in a file of its own.
class Draft {
public:
    explicit Draft(const Changes& changes = {}) {
        std::istringstream lines(content(worked_example));
        std::string text = "[circuit]\n";
        bool inside = false;
        for (std::string line; std::getline(lines, line);) {
            if (line.starts_with("[")) {
                inside = line == "[circuit]";
                continue;
            }
            const std::string key = line.substr(0, line.find(' '));
            if (inside && line.find(" = ") != std::string::npos && !changes.contains(key)) {
                text += line;
                text += '\n';
            }
        }
        for (const auto& [key, value] : changes) {
            if (!value.empty()) {
                text.append(key).append(" = \"").append(value).append("\"\n");
            }
        }
        write(file_, text);
    }

    [[nodiscard]] const std::string& file() const { return file_; }

    [[nodiscard]] Ran circuit(const std::string& arguments = "") const {
        return run_tool("circuit " + arguments + " " + file_);
    }

    [[nodiscard]] Json json() const {
        const Ran ran = circuit("--json");
        INFO(ran.err);
        REQUIRE(Json::accept(ran.out));
        return Json::parse(ran.out);
    }

private:
    TemporaryDirectory folder_;
    std::string file_ = folder_.path() + "/draft.toml";
};

const Json* finding(const Json& json, const std::string& id) {
    const auto& found = json.at("found");
    const auto it = std::find_if(
        found.begin(), found.end(), [&](const Json& one) { return one.at("id") == id; });
    return it == found.end() ? nullptr : &*it;
}

std::size_t longest_line(const std::string& text) {
    std::istringstream lines(text);
    std::size_t longest = 0;
    for (std::string line; std::getline(lines, line);) {
        longest = std::max(longest, line.size());
    }
    return longest;
}

}  // namespace

TEST_CASE("What the README shows of the worked example is what the command prints") {
    const std::string readme = content(TREE "/README.md");
    const std::string command = "$ nightlatch circuit config/examples/tide-logger.toml\n";
    const std::size_t begin = readme.find(command);
    REQUIRE(begin != std::string::npos);
    std::istringstream shown(readme.substr(begin + command.size()));
    const std::string printed = run_tool("circuit " + worked_example).out;
    std::size_t from = 0;
    int lines = 0;
    for (std::string line; std::getline(shown, line) && line != "```";) {
        if (line == "…") {
            continue;
        }
        const std::size_t found = printed.find(line + "\n", from);
        INFO(line);
        REQUIRE(found != std::string::npos);
        from = found + line.size() + 1;
        ++lines;
    }
    CHECK(lines >= 9);
}

TEST_CASE("the worked example's supply lets go and stays off, and nothing else is found",
          "[tool][circuit]") {
    const Ran ran = run_tool("circuit " + worked_example);
    CHECK(ran.status == 0);
    CHECK(ran.err.empty());
    CHECK_THAT(ran.out,
               StartsWith("stays off: yes\n    Yes: even in the worst case the supply "
                          "switches off and stays off"));
    CHECK_THAT(ran.out, ContainsSubstring("\nnext: build it"));
    CHECK_THAT(ran.out,
               ContainsSubstring("Of 10,000 circuits drawn from the tolerances 10,000 stay off."));
    CHECK_THAT(ran.out, ContainsSubstring("the battery lasts 1,000 days"));
    for (const char* part : {"\nSwitching off\n",
                             "worst corner",
                             "\n  margin ",
                             "\nMargin by the two thresholds",
                             "\n  post-halt pin",
                             "\n  main switch",
                             "\n  board ",
                             "the battery lasts ",
                             "\n  switching on ",
                             "\nWhat the margin hangs on",
                             "\nAssumed, since not stated",
                             "nor a safety function"}) {
        INFO(part);
        CHECK_THAT(ran.out, ContainsSubstring(part));
    }
    CHECK(longest_line(ran.out) <= 80);
}

TEST_CASE("a file with nothing but [circuit] in it is enough", "[tool][circuit]") {
    const Draft draft;
    CHECK(draft.circuit().status == 0);
    CHECK(draft.circuit().out == run_tool("circuit " + worked_example).out);
}

TEST_CASE("all that was assumed and every influence are told when asked for", "[tool][circuit]") {
    const std::string out = Draft().circuit("--all").out;
    CHECK_THAT(out, ContainsSubstring("Not stated, and therefore assumed\n"));
    CHECK_THAT(out, ContainsSubstring("the pin's current limit is not stated: 16 mA is assumed"));
    CHECK_THAT(out, !ContainsSubstring("more with --all"));
    CHECK(longest_line(out) <= 80);
}

TEST_CASE("in JSON: verdict, corners, thresholds, findings, advice and cautions",
          "[tool][circuit]") {
    const Json json = Draft().json();
    CHECK(json.at("format") == "nightlatch-circuit");
    CHECK(json.at("fine") == true);
    CHECK(json.at("stays_off") == "yes");
    CHECK(json.at("worst").at("outcome") == "stays off");
    const std::int64_t margin = json.at("worst").at("margin_us");
    CHECK(margin > 50'000);
    CHECK(json.at("typical").at("margin_us") > margin);
    CHECK(json.at("thresholds").size() == 9);
    CHECK(json.at("worst_parts").at("release_threshold") == 1.5);
    CHECK(json.at("drawn").at("circuits") == 10000);
    CHECK(json.at("cautions").size() >= 8);
    CHECK(json.at("shortest_pulse_us") > 1'000);
    CHECK(json.at("shortest_pulse_us") < 100'000);
    CHECK(json.at("version") == 3);
    CHECK(json.at("typical_parts").at("release_threshold") == 1.3);
    const Json& limit = json.at("assumptions").at(1);
    CHECK(limit.at("key") == "pin_limit");
    CHECK(limit.at("unit") == "A");
    CHECK(limit.at("least") == 0.016);
    CHECK_THAT(limit.at("source").get<std::string>(), ContainsSubstring("rule of thumb"));
}

TEST_CASE("a supply that comes back is told with the thresholds that fail, and what would do",
          "[tool][circuit]") {
    const Draft draft(Changes{{"rail_bleeder", "none"}});
    const Ran ran = draft.circuit();
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out, ContainsSubstring("failure comes-back\n"));
    CHECK_THAT(ran.out, ContainsSubstring("FAILS"));
    CHECK_THAT(ran.out, ContainsSubstring("\nWhat if, each computed at the worst corner\n"));
    CHECK(longest_line(ran.out) <= 80);
    const Json json = draft.json();
    CHECK(json.at("worst").at("outcome") == "comes back");
    const auto& what_ifs = json.at("what_ifs");
    CHECK(std::any_of(what_ifs.begin(), what_ifs.end(), [](const Json& one) {
        return one.at("change").get<std::string>().find("rail bleeder") != std::string::npos;
    }));
}

TEST_CASE("a percentile that is met is enough, and is said to be", "[tool][circuit]") {
    const Draft draft(Changes{{"rail_bleeder", "470 ohm"}, {"margin", ""}});
    const Json json = draft.json();
    REQUIRE(json.at("stays_off") == "not in the worst case");
    const double percent = json.at("drawn").at("stays_off_percent");
    REQUIRE(percent > 99.0);
    CHECK(draft.circuit().status == 1);
    const Ran enough = draft.circuit("--percentile 99");
    CHECK(enough.status == 0);
    CHECK_THAT(enough.out, ContainsSubstring("Asked for: 99 % of the circuits. That is met: "));
    CHECK(draft.circuit("--percentile 49").status == 2);
    CHECK(draft.circuit("--seed -1").status == 2);
}

TEST_CASE("the same seed gives the same answer", "[tool][circuit]") {
    const Draft draft;
    CHECK(draft.circuit("--seed 7 --json").out == draft.circuit("--seed 7 --json").out);
    CHECK(draft.circuit("--seed 7 --json").out != draft.circuit("--seed 8 --json").out);
}

TEST_CASE("each part that is left out is told by what it does", "[tool][circuit]") {
    struct Left {
        Changes changes;
        const char* id;
        const char* says;
    };

    for (const Left& left : {
             Left{{{"hold_capacitor", "none"}, {"hold_capacitor_class", ""}},
                  "no-hold-capacitor",
                  "comes straight back"},
             Left{{{"diode", "none"}}, "no-diode", "comes straight back"},
             Left{{{"bleed_resistor", "none"}}, "slow-again", "the next switch-on fails"},
             Left{{{"series_resistor", "none"}}, "pin-overload", "The post-halt pin is overloaded"},
             Left{{{"feed_resistor", "none"}}, "rail-shorted", "shorts the rail"},
         }) {
        INFO(left.id);
        const Json json = Draft(left.changes).json();
        CHECK(json.at("fine") == false);
        const Json* found = finding(json, left.id);
        REQUIRE(found != nullptr);
        CHECK(found->at("weight") == "failure");
        CHECK_THAT(found->at("text").get<std::string>(), ContainsSubstring(left.says));
        CHECK_FALSE(found->at("remedy").get<std::string>().empty());
    }
}

TEST_CASE("bad values are told with file, line, column and what is allowed", "[tool][circuit]") {
    struct Bad {
        const char* key;
        const char* value;
        const char* says;
    };

    for (const Bad& bad :
         {Bad{"bleed_resistor", "-330 kohm", "negative"},
          Bad{"bleed_resistor", "0 ohm", "zero"},
          Bad{"bleed_resistor", "330", "no unit"},
          Bad{"halt_current", "400 mA, 150 mA", "400 mA comes before 150 mA"},
          Bad{"hold_capacitor", "22 F", "1 nF to 22 mF is allowed; was 22 uF meant?"},
          Bad{"diode", "1N", "is not in the library. It has BAT54, BAT85"},
          Bad{"diode", "BAT45", "is not in the library; did you mean BAT54? It has BAT54"},
          Bad{"bleed_resistro", "330 kohm", "did you mean bleed_resistor?"}}) {
        INFO(bad.value);
        const Draft draft(Changes{{bad.key, bad.value}});
        const Ran ran = draft.circuit();
        CHECK(ran.status == 2);
        CHECK(ran.out.empty());
        const std::string text = content(draft.file());
        const auto line = std::count(text.begin(), text.end(), '\n');  // the last one
        const std::size_t column = std::string(bad.key).size() + 4;
        CHECK_THAT(ran.err,
                   StartsWith(draft.file() + ":" + std::to_string(line) + ":" +
                              std::to_string(column) + ": error: circuit." + bad.key + ": "));
        CHECK_THAT(ran.err, ContainsSubstring(bad.says));
    }
}

TEST_CASE("all that is wrong is told in one run, by line, and each thing once", "[tool][circuit]") {
    TemporaryDirectory folder;
    const std::string file = folder.path() + "/draft.toml";
    write(file,
          "[circuit]\nsupply_voltage = 5\nload_current = \"-1 A\"\nrail_capacitance = \"22 F\"\n"
          "cut_out = \"3.4 V, 3.0 V\"\nline_high = \"3.3\"\ndiode = \"1N\"\n");
    const Ran ran = run_tool("circuit " + file);
    CHECK(ran.status == 2);
    std::istringstream lines(ran.err);
    std::vector<std::string> places;
    for (std::string line; std::getline(lines, line);) {
        REQUIRE_THAT(line, StartsWith(file + ":"));
        const std::string rest = line.substr(file.size() + 1);
        places.push_back(rest.substr(0, rest.find(": ")));
    }
    // First, at the header, what is missing, in one line; then the six, of which the first is a
    // bare number.
    CHECK(places == std::vector<std::string>{"1:1", "2:18", "3:16", "4:20", "5:11", "6:13", "7:9"});
    CHECK_THAT(run_tool("check " + file).out, ContainsSubstring(":7:9: error: circuit.diode"));
}

TEST_CASE("The starter is a circuit once its five values are filled in", "[tool][circuit]") {
    const Ran printed = run_tool("circuit --starter");
    CHECK(printed.status == 0);
    CHECK(longest_line(printed.out) <= 100);
    CHECK_THAT(printed.out, ContainsSubstring("Common practice") && ContainsSubstring("no source"));
    TemporaryDirectory folder;
    const std::string file = folder.path() + "/draft.toml";
    write(file, printed.out);
    const Ran empty = run_tool("circuit " + file);
    CHECK(empty.status == 1);
    CHECK(empty.err.empty());
    CHECK_THAT(empty.out,
               StartsWith("stays off: not known yet\n    5 values are missing.\nnext: "));
    for (const char* key :
         {"supply_voltage", "load_current", "halt_current", "rail_capacitance", "line_high"}) {
        CHECK_THAT(empty.out, ContainsSubstring("\n  " + std::string(key)));
    }
    CHECK_THAT(empty.out, !ContainsSubstring("would be"));
    std::string filled;
    std::istringstream lines(printed.out);
    int values = 0;
    for (std::string line; std::getline(lines, line); filled += line + "\n") {
        if (line.starts_with("# ") && line.find(" = \"") < line.find(' ', 2) + 2) {
            line.erase(0, 2);
            ++values;
        }
    }
    CHECK(values == 5);
    write(file, filled);
    const Ran known = run_tool("circuit " + file);
    INFO(known.out << known.err);
    CHECK(known.status == 0);
    CHECK_THAT(known.out, StartsWith("stays off: yes\n"));
    CHECK(run_tool("circuit --starter --json").status == 2);
}

TEST_CASE("While values are missing the answer is not known yet, with what decides",
          "[tool][circuit]") {
    const Draft draft(Changes{{"gate_pull", ""}, {"bleed_resistor", ""}, {"diode", ""}});
    const Ran ran = draft.circuit();
    CHECK(ran.status == 1);
    CHECK(ran.err.empty());
    CHECK_THAT(ran.out, StartsWith("stays off: not known yet\n    3 values are missing.\n"));
    CHECK_THAT(ran.out, ContainsSubstring("places the answer would be: "));
    CHECK_THAT(ran.out, ContainsSubstring("the bleed resistor; common practice: 330 kohm"));
    CHECK(longest_line(ran.out) <= 80);
    const Json json = draft.json();
    CHECK(json.at("stays_off") == "not known yet");
    CHECK(json.at("fine") == false);
    CHECK(json.at("missing").size() == 3);
    CHECK(json.at("assuming").at("stays_off").is_string());
    CHECK(draft.circuit("--netlist").status == 2);
    const std::string told = run_tool("check " + draft.file()).out;
    CHECK_THAT(told, ContainsSubstring(":1:1: warning: circuit: not known yet"));
    CHECK(told.find("circuit.gate_pull") == std::string::npos);
}

TEST_CASE("Each remedy's lines, as they are printed, mend what they are printed for",
          "[tool][circuit]") {
    for (const Changes& changes : {Changes{{"rail_bleeder", "1 kohm"}},
                                   Changes{{"series_resistor", "47 ohm"}},
                                   Changes{{"bleed_resistor", "none"}},
                                   Changes{{"supply_voltage", "24 V +-5 %"}, {"cut_out", "4 V"}},
                                   Changes{{"margin", "200 ms"}}}) {
        const Draft draft(changes);
        std::istringstream lines(draft.circuit().out);
        std::map<std::string, Changes> remedies;
        std::string id;
        for (std::string line; std::getline(lines, line) && line != "Switching off";) {
            if (line.starts_with("failure ") || line.starts_with("warning ")) {
                id = line.substr(8);
            }
            const std::size_t middle = line.find(" = \"");
            if (line.starts_with("        ") && middle != std::string::npos) {
                remedies[id][line.substr(8, middle - 8)] =
                    line.substr(middle + 4, line.size() - middle - 5);
            }
        }
        INFO(changes.begin()->first);
        CHECK_FALSE(remedies.empty());
        for (const auto& [mended, values] : remedies) {
            Changes both = values;
            both.insert(changes.begin(), changes.end());
            INFO(mended);
            CHECK(finding(Draft(both).json(), mended) == nullptr);
        }
    }
}

TEST_CASE("A [post_halt] that contradicts the circuit is told by circuit and by check",
          "[tool][circuit]") {
    struct Wrong {
        const char* from;
        const char* to;
        const char* id;
        int checked;
    };

    for (const Wrong& wrong :
         {Wrong{"active = \"high\"", "active = \"low\"", "post-halt-polarity", 1},
          Wrong{"pulse = \"100 ms\"", "pulse = \"5 ms\"", "post-halt-pulse", 0}}) {
        TemporaryDirectory folder;
        const std::string file = folder.path() + "/draft.toml";
        std::string text = content(worked_example);
        const std::size_t at = text.find(wrong.from, text.find("[post_halt]"));
        REQUIRE(at != std::string::npos);
        text.replace(at, std::string(wrong.from).size(), wrong.to);
        write(file, text);
        const Ran ran = run_tool("circuit " + file);
        CHECK(ran.status == 1);
        CHECK_THAT(ran.out, ContainsSubstring(" " + std::string(wrong.id) + "\n"));
        const Ran checked = run_tool("check " + file);
        CHECK(checked.status == wrong.checked);
        CHECK_THAT(checked.out,
                   ContainsSubstring("post_halt") && ContainsSubstring("by [circuit]"));
    }
}

TEST_CASE("check tells of the circuit's values as of all others", "[tool][circuit]") {
    TemporaryDirectory folder;
    const std::string file = folder.path() + "/draft.toml";
    std::string text = content(worked_example);
    const std::size_t at = text.find("\"33 uF\"");
    REQUIRE(at != std::string::npos);
    text.replace(at, 7, "\"33 F\"");
    const auto line = std::count(text.begin(), text.begin() + static_cast<long>(at), '\n') + 1;
    write(file, text);
    const Ran ran = run_tool("check " + file);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.out,
               ContainsSubstring(file + ":" + std::to_string(line) +
                                 ":18: error: circuit.hold_capacitor: 33 F is not plausible here"));
    const Ran good = run_tool("check " + worked_example);
    CHECK(good.status == 0);
    CHECK_THAT(good.out, ContainsSubstring("note: circuit: 5 values are not stated, and assumed"));
    const Ran printed = run_tool("check --print " + worked_example);
    CHECK_THAT(printed.out, ContainsSubstring("\n[circuit]\nsupply_voltage = \"4.9 V, 5.1 V"));
}

TEST_CASE("without a circuit, or without the file, the command says so", "[tool][circuit]") {
    const Ran none = run_tool("circuit " TREE "/config/nightlatch.toml");
    CHECK(none.status == 2);
    CHECK_THAT(none.err, ContainsSubstring("has no section [circuit]; nightlatch-circuit(1)"));
    CHECK(run_tool("circuit /nowhere.toml").status == 2);
    const Draft draft;
    CHECK(draft.circuit("--netlist --json").status == 2);
    CHECK(draft.circuit("--svg " + draft.file() + "/no.svg").status == 2);
}

TEST_CASE("the picture is written and names what races", "[tool][circuit]") {
    TemporaryDirectory folder;
    const std::string file = folder.path() + "/off.svg";
    CHECK(run_tool("circuit --svg " + file + " " + worked_example).status == 0);
    const std::string picture = content(file);
    CHECK_THAT(picture, StartsWith("<svg "));
    CHECK(picture.ends_with("</svg>\n"));
    for (const char* part : {"At the worst corner of all tolerances",
                             "With typical parts",
                             "hold capacitor",
                             "post-halt line",
                             "the release is held above 1.45 V",
                             "the latch switches on above 0.74 V",
                             "the first 12 ms, stretched ",
                             "margin: "}) {
        INFO(part);
        CHECK_THAT(picture, ContainsSubstring(part));
    }
}

TEST_CASE("a picture tells one time in one unit, beyond its edge too", "[tool][circuit]") {
    const Draft draft(Changes{{"hold_capacitor", "2.2 uF"}});
    const std::string file = draft.file() + ".svg";
    CHECK(draft.circuit("--svg " + file).status == 1);
    const std::string picture = content(file);
    CHECK_THAT(picture, ContainsSubstring("The supply comes back; missing 125 ms"));
    CHECK_THAT(picture, ContainsSubstring("missing: 125 ms"));
    CHECK_THAT(picture, ContainsSubstring("stays off: 212 ms"));
}

TEST_CASE("ngspice takes the netlist of the worst corner", "[tool][circuit]") {
    if (std::system("command -v ngspice >/dev/null 2>&1") != 0) {
        SKIP("ngspice is not installed");
    }
    TemporaryDirectory folder;
    const Ran ran = run_tool("circuit --netlist " + worked_example);
    CHECK(ran.status == 0);
    write(folder.path() + "/worst.cir", ran.out);
    const std::string command = "cd '" + folder.path() + "' && ngspice -b worst.cir >log 2>&1";
    const int status = std::system(command.c_str());
    INFO(content(folder.path() + "/log"));
    CHECK(status == 0);
    const std::string data = content(folder.path() + "/nightlatch.txt");
    CHECK(std::count(data.begin(), data.end(), '\n') > 100);
}
