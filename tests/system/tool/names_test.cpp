// SPDX-License-Identifier: MIT
// What is typed on the command line, and what a file is called, steers no terminal and adds no
// line, whichever command tells of it.
#include "base/text.hpp"
#include "desk.hpp"
#include "support/hostile.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::test;

namespace {

/// A line end with a line of somebody else's, a control sequence, a turn of the reading direction
/// and a stray byte that an 8-bit terminal takes for the beginning of a sequence.
const std::string hostile_name = "x\n" + std::string(forged) + "\x1b[2J\u202E\x9B";

/// What of it a person sees.
constexpr const char* shown_name = "\\u001B[2J\\u202E\\x9B";

constexpr const char* plain_unit =
    "[button]\nchip = \"soc-gpio\"\nline = \"LID_BUTTON\"\npressed = \"low\"\n"
    "[[stage]]\nname = \"off\"\nhold = \"3 s\"\naction = \"power-off\"\n";
constexpr const char* lid_capture = "Time [s],BTN\n0,1\n1,0\n1.0000005,1\n1.001,0\n4.2,1\n6,1\n";

std::string in_shell(const std::string& word) {
    return "'" + word + "'";
}

/// Runs the tool: what it says is safe and, with `told`, names what is hostile.
void check_told(const std::string& arguments, bool told = true) {
    const Ran ran = run_tool(arguments);
    const std::string said = ran.out + ran.err;
    INFO(safe_lines(arguments));
    INFO(safe_lines(said));
    CHECK(ran.status >= 0);
    CHECK(line_that_steers(said).empty());
    CHECK((!told || said.find(shown_name) != std::string::npos));
}

}  // namespace

TEST_CASE("a file's name steers no terminal: missing, bad and fine configurations", "[tool]") {
    const Desk desk;
    const std::string missing = in_shell(desk.path(hostile_name + "missing.toml"));
    const std::string bad =
        in_shell(desk.file(hostile_name + "bad.toml", "[buton]\n[circuit]\nx = 1\n"));
    const std::string fine = in_shell(desk.file(hostile_name + "fine.toml", plain_unit));
    const std::string wave = " --wave " + in_shell(desk.file("lid.csv", lid_capture));
    for (const std::string& command : {std::string("check"),
                                       std::string("check --print"),
                                       std::string("rehearse"),
                                       std::string("circuit"),
                                       "bounce" + wave}) {
        check_told(command + " --config " + missing);
        check_told(command + " --config " + bad);
        check_told(command + " --config " + fine);
    }
    check_told("audit --config " + missing);
    check_told("audit --config " + bad);
    check_told("audit --config " + fine, false);
    check_told("check --config " + missing + " " + bad);
}

TEST_CASE("a press script's and a capture's names steer no terminal", "[tool]") {
    const Desk desk;
    const std::string with_unit = " --config " + in_shell(desk.file("unit.toml", plain_unit)) + " ";
    const std::string unmet = "[[press]]\nat = \"1 s\"\nfor = \"1 s\"\n[[expect]]\nrequests = 1\n";
    const std::string script = in_shell(desk.file(hostile_name + "unmet.toml", unmet));
    const std::string bad = in_shell(desk.file(hostile_name + "bad.toml", "[[pres]]\n"));
    const std::string wave = in_shell(desk.file(hostile_name + "lid.csv", lid_capture));
    const std::string no_wave = in_shell(desk.file(hostile_name + "no.csv", "a,b\n0,1\n0,2\n"));
    check_told("rehearse" + with_unit + script);
    check_told("rehearse --expect" + with_unit + script);
    check_told("rehearse" + with_unit + bad);
    check_told("rehearse" + with_unit + in_shell(desk.path(hostile_name)));
    for (const std::string command : {"rehearse --wave ", "bounce --wave "}) {
        check_told(command + wave + with_unit);
        check_told(command + no_wave + with_unit);
        check_told(command + in_shell(desk.path(hostile_name)) + with_unit);
    }
    check_told("rehearse --expect --wave " + wave + with_unit);
}

TEST_CASE("a file that cannot be written is named safely", "[tool]") {
    const Desk desk;
    const std::string with_unit = " --config " + in_shell(desk.file("unit.toml", plain_unit)) + " ";
    const std::string nowhere = in_shell(desk.path(hostile_name + "/none/day"));
    check_told("rehearse --svg " + nowhere + with_unit);
    check_told("rehearse --vcd " + nowhere + with_unit);
    check_told("circuit --config " TREE "/config/examples/tide-logger.toml --svg " + nowhere);
}

TEST_CASE("words that nothing takes are told safely", "[tool]") {
    const std::string word = in_shell(hostile_name);
    check_told(word);
    check_told("check a " + word);
    check_told("check " + in_shell("--" + hostile_name));
    check_told(in_shell("--" + hostile_name) + " check");
    check_told("circuit --seed " + word, false);
    check_told("bounce --bias " + word, false);
    check_told("bounce --time " + word, false);
    check_told("audit --only " + word);
    check_told("audit --explain " + word);
    check_told("audit --root " + word);
    check_told("audit --tree " + word);
    check_told("lines --watch " + word, false);
    check_told("follow --end-at " + word, false);
    check_told("follow " + word);
    check_told("call-off " + word);
}
