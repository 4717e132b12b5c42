// SPDX-License-Identifier: MIT
// The bounce of recordings in files, and the command line, as a person or a script meets them.
#include "desk.hpp"

#include <string>
#include <vector>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>
#include <sys/stat.h>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;
using test::Desk;
using test::flat;

namespace {

/// A value change dump of one press to ground and its release: the contact closes at 1 s and opens
/// at 2 s, with an edge so many nanoseconds after each of them.
std::string dump(const std::vector<long>& closing, const std::vector<long>& opening) {
    std::string text = "$timescale 1 ns $end\n$var wire 1 ! front_button $end\n"
                       "$enddefinitions $end\n#0\n1!\n";
    bool high = true;
    const auto add = [&](long at, const std::vector<long>& edges) {
        high = !high;
        text += "#" + std::to_string(at) + "\n" + (high ? "1!\n" : "0!\n");
        for (const long edge : edges) {
            high = !high;
            text += "#" + std::to_string(at + edge) + "\n" + (high ? "1!\n" : "0!\n");
        }
    };
    add(1'000'000'000, closing);
    add(2'000'000'000, opening);
    return text + "#" +
           std::to_string(2'000'000'000 + (opening.empty() ? 0 : opening.back()) + 2'000'000'000) +
           "\n";
}

std::string tide_config(const std::string& debounce) {
    return "[button]\nchip = \"soc-gpio\"\nline = \"FRONT_BUTTON\"\npressed = \"low\"\ndebounce "
           "= " +
           debounce + "\n\n[[stage]]\nname = \"off\"\nhold = \"3 s\"\naction = \"power-off\"\n";
}

}  // namespace

TEST_CASE("a value change dump of one press is measured, whatever the file is called",
          "[bounce][capture]") {
    const Desk desk;
    const std::string text = dump({1'000'000, 1'500'000}, {4'000'000, 4'100'000});
    for (const char* name : {"button.vcd", "button.VCD", "button"}) {
        const test::Ran ran = test::run_tool("bounce --wave " + desk.file(name, text));
        CHECK(ran.status == 0);
        CHECK(ran.err.empty());
        CHECK_THAT(ran.out, StartsWith("front_button in "));
        CHECK_THAT(ran.out,
                   ContainsSubstring("\ndebounce = { press = \"5 ms\", release = \"10 ms\" }\n"));
        CHECK_THAT(flat(ran.out), ContainsSubstring("Pressed is taken to be low"));
        CHECK_THAT(flat(ran.out),
                   ContainsSubstring("will bounce longer than this one: that is what") &&
                       ContainsSubstring("a small sample: record more presses."));
    }
}

TEST_CASE("a table of times and levels is measured by the signal's name", "[bounce][capture]") {
    const Desk desk;
    const std::string csv = desk.file("scope.csv",
                                      "Time [s],CH1,CH2\n0,1,0\n1,0,0\n1.001,1,0\n1.003,0,0\n"
                                      "2,1,0\n4,1,0\n");
    const test::Ran ran = test::run_tool("bounce --json --signal CH1 --wave " + csv);
    CHECK(ran.status == 0);
    const auto json = nlohmann::json::parse(ran.out);
    CHECK(json["format"] == "nightlatch-bounce");
    CHECK(json["version"] == 2);
    CHECK(json["verdict"] == "fine");
    CHECK(json["pressed"] == "low");
    CHECK(json["captured"] == true);
    CHECK(json["pressing"]["most_edges"] == 3);
    CHECK(json["pressing"]["longest_us"] == 3000);
    CHECK(json["pressing"]["longest_pause_open_us"] == 2000);
    CHECK(json["pressing"]["histogram"][0]["up_to_us"] == 0);
    CHECK(json["pressing"]["histogram"].back()["up_to_us"].is_null());
    CHECK(json["letting_go"]["clean"] == 1);
    CHECK(json["presses"][0]["held_us"] == 997'000);
    CHECK(json["advice"]["block"] == "debounce = { press = \"5 ms\", release = \"5 ms\" }");
    CHECK(json["configured"].is_null());
    CHECK(test::run_tool("bounce --wave " + csv).status == 2);  // which of the two?
}

TEST_CASE("an oscilloscope's voltages are measured with a threshold, which is proposed",
          "[bounce][capture]") {
    const Desk desk;
    const std::string wave = " --wave " + desk.file("scope.csv",
                                                    "Source,CH1\nSecond,Volt\n0,3.28\n1,0.012\n"
                                                    "1.001,3.28\n1.003,0.012\n2,3.28\n4,3.28\n");
    const test::Ran refused = test::run_tool("bounce" + wave);
    CHECK(refused.status == 2);
    CHECK_THAT(refused.err, ContainsSubstring("as in --threshold \"1.65 V\"; \"CH1\" goes from"));
    for (const char* threshold : {"1.65 V", "0.8 V, 2.0 V"}) {
        const test::Ran ran =
            test::run_tool("bounce --json --threshold '" + std::string(threshold) + "'" + wave);
        CHECK(ran.status == 0);
        CHECK(nlohmann::json::parse(ran.out)["pressing"]["longest_us"] == 3000);
    }
    CHECK(test::run_tool("bounce --threshold 1.6" + wave).status == 2);
    CHECK(test::run_tool("bounce --threshold '1.6 V' soc-gpio 5").status == 2);
}

TEST_CASE("a capture is judged by a configuration, whose pressed level counts",
          "[bounce][capture]") {
    const Desk desk;
    const std::string wave = desk.file("button.vcd", dump({}, {40'000'000, 50'000'000}));
    const std::string tight = desk.file("tight.toml", tide_config("\"5 ms\""));
    const std::string wide = desk.file("wide.toml", tide_config("\"60 ms\""));
    const test::Ran bad = test::run_tool("bounce --wave " + wave + " --config " + tight);
    CHECK(bad.status == 1);
    CHECK_THAT(flat(bad.out),
               StartsWith("The debounce in ") &&
                   ContainsSubstring("is too short for this button") &&
                   ContainsSubstring("release = \"80 ms\"") &&
                   ContainsSubstring("1 press comes out as 2."));
    const test::Ran good = test::run_tool("bounce --wave " + wave + " --config " + wide);
    CHECK(good.status == 0);
    CHECK_THAT(flat(good.out), ContainsSubstring("is long enough for this button"));
    CHECK_THAT(good.out, !ContainsSubstring("Pressed is taken to be"));
    CHECK_THAT(flat(good.out), ContainsSubstring("with a margin it would be:"));  // 80 ms
    const test::Ran high = test::run_tool("bounce --json --pressed high --wave " + wave);
    const auto json = nlohmann::json::parse(high.out);
    CHECK(json["pressed"] == "high");
    CHECK(json["pressing"]["most_edges"] == 3);
}

TEST_CASE("a long hold is not a rest: the level at both ends is", "[bounce][capture]") {
    const Desk desk;
    // To ground, held for 4.5 s of 6.5 s; letting go, it stays open for 11 ms.
    const std::string rows = "Time [s],BTN\n0,1\n1,0\n1.001,1\n1.003,0\n5.5,1\n5.511,0\n"
                             "5.512,1\n";
    const std::string whole = desk.file("long.csv", rows + "6.5,1\n");
    const test::Ran ran = test::run_tool("bounce --wave " + whole);
    CHECK(ran.status == 0);
    CHECK_THAT(
        flat(ran.out),
        StartsWith("BTN in " + whole + " bounces up to 3 ms pressing, up to 12 ms letting") &&
            ContainsSubstring(
                "press = \"5 ms\", release = \"25 ms\" }  Pressed is taken to be low, as the "
                "capture begins and ends high; if the button was held at both ends, say "
                "--pressed high."));
    CHECK(nlohmann::json::parse(test::run_tool("bounce --json --wave " + whole).out)["pressed"] ==
          "low");
    const test::Ran told = test::run_tool("bounce --pressed high --wave " + whole);
    CHECK_THAT(flat(told.out), ContainsSubstring("bounces up to 12 ms pressing"));
    CHECK_THAT(told.out, !ContainsSubstring("Pressed is taken to be"));
}

TEST_CASE("a capture that ends at another level than it begins with is not guessed at",
          "[bounce][capture]") {
    const Desk desk;
    const std::string cut = desk.file("cut.csv", "Time [s],BTN\n0,0\n1,1\n6,1\n");
    const test::Ran ran = test::run_tool("bounce --wave " + cut);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_THAT(ran.err,
               ContainsSubstring("cut.csv begins low and ends high, so which of the two is pressed "
                                 "cannot be told: say --pressed low or --pressed high"));
    CHECK(test::run_tool("bounce --pressed low --wave " + cut).status == 1);  // no whole press
}

TEST_CASE("a capture without a press, or that never rests, says so", "[bounce][capture]") {
    const Desk desk;
    const test::Ran none =
        test::run_tool("bounce --wave " + desk.file("still.csv", "Time [s],CH1\n0,1\n3,1\n"));
    CHECK(none.status == 1);
    CHECK_THAT(none.out, StartsWith("No press in CH1 in "));
    // Every 8 ms an edge, for 800 ms: each pause is short enough. For 10 s it is not a button.
    const auto edges = [](long last) {
        std::vector<long> result;
        for (long i = 1; i <= last; ++i) {
            result.push_back(i * 8'000'000);
        }
        return result;
    };
    const test::Ran long_one =
        test::run_tool("bounce --wave " + desk.file("long.vcd", dump(edges(100), {})));
    CHECK(long_one.status == 0);
    CHECK_THAT(flat(long_one.out), ContainsSubstring("up to 800 ms pressing"));
    std::string text = dump({}, edges(1250));
    text += "#20000000000\n";
    const test::Ran wild = test::run_tool("bounce --wave " + desk.file("wild.vcd", text));
    CHECK(wild.status == 1);
    CHECK_THAT(flat(wild.out), ContainsSubstring("does not come to rest as a button does"));
    CHECK_THAT(wild.out, !ContainsSubstring("debounce = {"));
}

TEST_CASE("a capture is read from a pipe as from a file", "[bounce][capture]") {
    const Desk desk;
    const std::string file = desk.file("button", dump({1'000'000, 1'500'000}, {}));
    const std::string pipe = desk.path("pipe.vcd");
    REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
    const std::string tool = NIGHTLATCH " bounce --wave ";
    for (const std::string& line : {"cat " + file + " | " + tool + "-",
                                    "cat " + file + " | " + tool + "/dev/stdin",
                                    tool + "- <" + file}) {
        INFO(line);
        const test::Ran ran = test::run_program("sh -c", "'" + line + "'");
        CHECK(ran.status == 0);
        CHECK_THAT(ran.out, StartsWith("front_button in standard input bounces "));
    }
    // The writer is late: the reader waits for it.
    const std::string late = "(sleep 0.2; cat " + file + " >" + pipe + ") & " + tool + pipe;
    CHECK_THAT(test::run_program("sh -c", "'" + late + "'").out,
               StartsWith("front_button in " + pipe + " bounces "));
    CHECK_THAT(test::run_program("sh -c", "'echo soon | " + tool + "-'").err,
               ContainsSubstring("standard input:1:1: error: "));
    CHECK_THAT(test::run_tool("bounce --wave " + desk.folder.path()).err,
               ContainsSubstring("(Is a directory)"));
}

TEST_CASE("what is wrong with a capture is told with its place", "[bounce][capture]") {
    const Desk desk;
    const std::string broken = desk.file("broken.vcd", "$timescale 1 ns $end\n#0\n1!\n");
    const test::Ran ran = test::run_tool("bounce --wave " + broken);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_THAT(ran.err, StartsWith("nightlatch: " + broken + ":"));
    CHECK(test::run_tool("bounce --wave " + desk.file("empty.csv", "")).status == 2);
    CHECK_THAT(test::run_tool("bounce --wave " + desk.folder.path() + "/none.vcd").err,
               ContainsSubstring("none.vcd (not there)"));
    CHECK(test::run_tool("bounce --wave " + desk.file("good.vcd", dump({}, {})) +
                         " --signal back_button")
              .status == 2);
}

TEST_CASE("words that do not go together, or mean nothing, are refused", "[bounce]") {
    const Desk desk;
    const std::string wave = " --wave " + desk.file("button.vcd", dump({}, {}));
    for (const std::string& words : {"--bias up" + wave,
                                     "--bias pull-up" + wave,
                                     "--pressed down" + wave,
                                     "--quiet 3" + wave,
                                     "--quiet '2 s'" + wave,
                                     "--vcd x.vcd" + wave,
                                     "soc-gpio FRONT_BUTTON" + wave,
                                     "--presses 0" + wave,
                                     "--config " + desk.folder.path() + "/none.toml" + wave,
                                     std::string("--signal CH1 soc-gpio 5"),
                                     std::string("--time 1 soc-gpio 5"),
                                     std::string("soc-gpio 5 6")}) {
        INFO(words);
        const test::Ran ran = test::run_tool("bounce " + words);
        CHECK(ran.status == 2);
        CHECK(ran.out.empty());
        CHECK_FALSE(ran.err.empty());
    }
    const std::string wrong = desk.file("wrong.toml", tide_config("\"2 s\""));
    const test::Ran ran = test::run_tool("bounce --config " + wrong + wave);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, ContainsSubstring("button.debounce"));
}
