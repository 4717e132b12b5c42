// SPDX-License-Identifier: MIT
// What is true of every command of the table: its help, its completion, its manual, and what it
// says of what it does not know.
#include "daemon/tool/commands.hpp"
#include "desk.hpp"

#include <iterator>
#include <set>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

/// The names of a command's options; not of what goes by its place.
std::set<std::string> options_of(const tool::Command& command) {
    tool::Options options;
    command.describe(options);
    std::set<std::string> names{"--help"};
    for (const tool::Option& one : options.all()) {
        if (one.name.starts_with("-")) {
            names.insert(one.name);
        }
    }
    return names;
}

/// What bash offers after `words`, of which the last one is being typed.
std::set<std::string> completed(const Desk& desk, const std::string& words) {
    const std::string script = desk.file("complete",
                                         ". " TREE "/daemon/tool/nightlatch.bash\n"
                                         "COMP_WORDS=(" +
                                             words +
                                             ")\n"
                                             "COMP_CWORD=$((${#COMP_WORDS[@]} - 1))\n"
                                             "_nightlatch\n"
                                             "printf '%s\\n' \"${COMPREPLY[@]}\"\n");
    const std::string out = desk.path("offered");
    REQUIRE(std::system(("bash " + script + " >" + out).c_str()) == 0);
    std::istringstream offered(content(out));
    return {std::istream_iterator<std::string>(offered), {}};
}

/// A page's text as it was before roff's escapes.
std::string manual_text(const std::string& page) {
    std::string text = content(page);
    std::erase(text, '\\');
    return text;
}

}  // namespace

TEST_CASE("the completion knows every command and each of its options, and no other", "[tool]") {
    const Desk desk;
    std::set<std::string> names{"--help", "--version"};
    for (const tool::Command& command : tool::commands()) {
        const std::string name(command.name);
        INFO(name);
        names.insert(name);
        CHECK(completed(desk, "nightlatch " + name + " --") == options_of(command));
    }
    CHECK(completed(desk, "nightlatch ''") == names);
}

TEST_CASE("every command is in the general manual, and each option in the command's own page",
          "[tool]") {
    const std::string general = manual_text(TREE "/daemon/tool/nightlatch.1");
    std::string missing;
    for (const tool::Command& command : tool::commands()) {
        const std::string name(command.name);
        const bool there = general.find("nightlatch " + name) != std::string::npos;
        missing += there ? "" : name + "\n";
        const std::string own =
            manual_text(TREE "/daemon/tool/" + name + "/nightlatch-" + name + ".1");
        const std::string& page = own.empty() ? general : own;
        for (const std::string& option : options_of(command)) {
            const bool told = option == "--help" || page.find(option) != std::string::npos;
            if (!told) {
                missing += name;
                missing += " " + option + "\n";
            }
        }
    }
    CHECK(missing.empty());
}

TEST_CASE("help names every option, and ends with examples, privileges and the exit status",
          "[tool]") {
    const std::string general = run_tool("--help").out;
    for (const tool::Command& command : tool::commands()) {
        const std::string name(command.name);
        INFO(name);
        CHECK_THAT(general, ContainsSubstring(std::string(command.sentence)));
        const Ran ran = run_tool(name + " --help");
        CHECK(ran.status == 0);
        CHECK(ran.err.empty());
        for (const std::string& option : options_of(command)) {
            CHECK_THAT(ran.out, ContainsSubstring(option));
        }
        for (const char* part : {"Examples:", "Privileges:", "Exit status:"}) {
            CHECK_THAT(ran.out, ContainsSubstring(part));
        }
    }
}

TEST_CASE("a command or an option that is not there is told with what was probably meant",
          "[tool]") {
    const std::pair<const char*, const char*> wrong[] = {
        {"chekc", "nightlatch: there is no command \"chekc\"; did you mean check?\n"},
        {"tide", "nightlatch: there is no command \"tide\"\nSee nightlatch --help.\n"},
        {"--jsno check", "nightlatch: there is no option \"--jsno\" before a command\n"},
        {"check --jsn", "nightlatch: check has no option \"--jsn\"; did you mean --json?\n"},
        {"lines --wach X", "nightlatch: lines has no option \"--wach\"; did you mean --watch?\n"},
        {"check --tide",
         "nightlatch: check has no option \"--tide\"\nSee nightlatch check --help."},
        {"check a b", "nightlatch: check takes no further argument \"b\"\n"},
        {"audit --only", "nightlatch: --only needs a value: RULE\n"},
        {"audit --only post-halt-pulze", "did you mean post-halt-pulse?"},
        {"check --root --json", "nightlatch: --root needs a value: DIR\n"},
        {"check --json=1", "nightlatch: --json takes no value\n"},
        {"rehearse --config a --config b", "nightlatch: --config is given 2 times: name one\n"},
        {"circuit --seed x", "nightlatch: --seed must be a whole number, 0 or more\n"},
        {"circuit --percentile 101", "nightlatch: --percentile must be 50 to 100\n"},
        {"bounce --presses 0", "nightlatch: --presses must be 1 to 1000\n"},
        {"bounce --bias pulup", "none or as-is; did you mean pull-up?\n"},
        {"rehearse --signal LID", "nightlatch: --signal needs --wave\n"},
        {"status --json --prometheus", "nightlatch: --prometheus cannot be used with --json\n"},
        {"audit --root /no/such", "nightlatch: --root needs a folder, and \"/no/such\" cannot be "},
        {"audit --root /dev/null", "nightlatch: --root needs a folder, and \"/dev/null\" is not "},
    };
    for (const auto& [arguments, said] : wrong) {
        INFO(arguments);
        const Ran ran = run_tool(arguments);
        CHECK(ran.status == 2);
        CHECK(ran.out.empty());
        CHECK_THAT(ran.err, ContainsSubstring(said));
    }
    CHECK(run_tool("'chec\x1b[2J'").err.find('\x1b') == std::string::npos);
}

TEST_CASE("of a message with more than one sentence, each has its full stop", "[tool]") {
    for (const char* arguments : {"audit --only tide",
                                  "audit --only post-halt-pulze",
                                  "audit --explain tide",
                                  "circuit --config /no/such",
                                  "lines --watch TIDE",
                                  "bounce TIDE",
                                  "logbook --witnessed ''",
                                  "check /no/such"}) {
        INFO(arguments);
        const Ran ran = run_tool(arguments);
        CHECK(ran.status != 0);
        const std::string said = ran.err.substr(0, ran.err.find('\n'));
        const bool several =
            said.find(". ") != std::string::npos || said.find("? ") != std::string::npos;
        CHECK((!several || said.ends_with('.')));
        CHECK_THAT(said, StartsWith("nightlatch: "));
    }
}

TEST_CASE("the configuration is named the same way by every command that reads it", "[tool]") {
    const std::string unit = TREE "/config/examples/tide-logger.toml";
    for (const char* command : {"check", "circuit", "rehearse", "audit"}) {
        INFO(command);
        const Ran ran = run_tool(command + (" --config " + unit));
        CHECK(ran.status <= 1);
        CHECK_THAT(ran.out, !ContainsSubstring("cannot tell: a configuration"));
        const Ran none = run_tool(command + std::string(" --config /no/such.toml"));
        CHECK(none.status == 2);
        CHECK_THAT(none.err, ContainsSubstring("/no/such.toml"));
    }
    for (const char* command : {"check", "circuit"}) {
        INFO(command);
        const std::string word = command;
        const std::string by_option = run_tool(word + (" --config " + unit)).out;
        CHECK(run_tool(command + (" " + unit)).out == by_option);
        CHECK(run_tool(command + (" --config " + unit + " " + unit)).out == by_option);
        const Ran two = run_tool(command + (" --config other.toml " + unit));
        CHECK(two.status == 2);
        CHECK_THAT(two.err,
                   StartsWith("nightlatch: two configurations are named, " + unit +
                              " and other.toml: name one\n"));
    }
}

TEST_CASE("a bad configuration ends every command with 2", "[tool]") {
    const Desk desk;
    const std::string bad = desk.file("bad.toml", "[button]\nchip = 3\n[circuit]\ndiode = 3\n");
    const std::string wave = desk.file("lid.csv", "Time [s],BTN\n0,1\n1,0\n4.2,1\n6,1\n");
    for (const std::string& command : {std::string("check"),
                                       std::string("check --json"),
                                       std::string("check --print"),
                                       std::string("circuit"),
                                       std::string("rehearse"),
                                       std::string("audit"),
                                       std::string("audit --json"),
                                       "bounce --wave " + wave}) {
        INFO(command);
        CHECK(run_tool(command + " --config " + bad).status == 2);
    }
}
