// SPDX-License-Identifier: MIT
// What `status` finds wrong, and its metrics by the published grammar.
#include "daemon/tool/client/words.hpp"
#include "daemon/tool/status/status.hpp"

#include <map>
#include <regex>
#include <set>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::tool;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;

namespace {

StatusFacts fine() {
    StatusFacts facts;
    ServiceState state;
    state.cue = "rest";
    state.since = Instant{10s};
    state.post_halt = "configured";
    state.line = {"soc-gpio", "LID_BUTTON", true};
    state.level = "released";
    state.configuration = {"/etc/nightlatch/nightlatch.toml", Instant{5s}, "same"};
    state.version = "0.9.0";
    facts.state = state;
    facts.now = Instant{100s};
    facts.unix_now = std::chrono::seconds(1'700'000'100);
    facts.settings = config::Settings{};
    return facts;
}

std::string first_wrong(const StatusFacts& facts) {
    const std::vector<Wrong> wrong = what_is_wrong(facts);
    return wrong.empty() ? "" : wrong.front().what + " -> " + wrong.front().next;
}

/// Why a text is not an exposition of gauges in text format 0.0.4
/// [https://prometheus.io/docs/instrumenting/exposition_formats/]; empty when it is one.
std::string no_exposition(const std::string& text) {
    static const std::regex help(R"(# HELP ([a-zA-Z_:][a-zA-Z0-9_:]*) (?:[^\\]|\\\\|\\n)*)");
    static const std::regex type(R"(# TYPE ([a-zA-Z_:][a-zA-Z0-9_:]*) (gauge|counter))");
    static const std::regex sample(
        R"re(([a-zA-Z_:][a-zA-Z0-9_:]*)(\{[a-zA-Z_][a-zA-Z0-9_]*="(?:[^"\\]|\\[\\"n])*"\})? )re"
        R"re((-?[0-9]+(?:\.[0-9]+)?|NaN|[+-]Inf))re");
    std::set<std::string> typed;
    std::set<std::string> samples;
    std::string family;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) {
        std::smatch match;
        if (std::regex_match(line, match, help)) {
            family = match[1];
        } else if (std::regex_match(line, match, type)) {
            if (match[1] != family || !typed.insert(family).second) {
                return "a TYPE out of its place: " + line;
            }
        } else if (!std::regex_match(line, match, sample)) {
            return "no line of the format: " + line;
        } else if (match[1] != family || !typed.contains(family)) {
            return "a sample out of its family: " + line;
        } else if (!samples.insert(match[1].str() + match[2].str()).second) {
            return "a sample twice: " + line;
        }
    }
    return text.ends_with("\n") && !samples.empty() ? "" : "no end";
}

}  // namespace

TEST_CASE("a unit that is as it should be has nothing wrong", "[status]") {
    CHECK(what_is_wrong(fine()).empty());
    StatusFacts facts = fine();
    facts.state->post_halt = "cannot-tell";
    CHECK(what_is_wrong(facts).empty());
    facts.state->post_halt = "absent";
    config::Settings allows;
    allows.core.without_post_halt = core::WithoutPostHalt::allow;
    facts.settings = allows;
    CHECK(what_is_wrong(facts).empty());
}

TEST_CASE("each thing that can be wrong is told with its remedy, the most pressing first",
          "[status]") {
    StatusFacts facts = fine();
    facts.state->configuration.on_disk = "differs";
    CHECK_THAT(first_wrong(facts), ContainsSubstring("systemctl reload nightlatch"));
    facts.state->cue = "refused";
    facts.state->reason = {"locked"};
    CHECK_THAT(first_wrong(facts), ContainsSubstring("-> systemd-inhibit --list"));
    facts.state->post_halt = "contradicted";
    CHECK_THAT(first_wrong(facts), ContainsSubstring("-> sudo nightlatch audit"));
    facts.state->configuration.on_disk = "bad";
    facts.state->configuration.trouble = "line 3";
    CHECK_THAT(first_wrong(facts), ContainsSubstring("line 3; an earlier one is in force -> sudo"));
    facts.state->cue = "stuck";
    CHECK_THAT(first_wrong(facts), ContainsSubstring("the button is stuck -> let it go"));
    facts.state->line.watching = false;
    CHECK_THAT(first_wrong(facts), ContainsSubstring("is not watched"));
    CHECK(what_is_wrong(facts).size() == 4);
    facts.state.reset();
    CHECK(what_is_wrong(facts).size() == 1);
    CHECK_THAT(first_wrong(facts), ContainsSubstring("-> sudo systemctl start nightlatch"));
    facts.absent = Absent::no_bus;
    CHECK_THAT(first_wrong(facts), ContainsSubstring("-> sudo systemctl start dbus.socket"));
}

TEST_CASE("the metrics are text format 0.0.4 whatever the service says", "[status]") {
    StatusFacts facts = fine();
    const std::string calm = status_prometheus(facts);
    CHECK(no_exposition(calm).empty());
    CHECK_THAT(calm, ContainsSubstring("nightlatch_cue_since_timestamp_seconds 1700000010.000\n"));
    CHECK_THAT(calm, ContainsSubstring("nightlatch_build_info{version=\"0.9.0\"} 1\n"));
    facts.state->cue = "tide \"high\"\\\n";
    facts.state->version = "\xff\x1b[2J";
    facts.state->alarms = {{"a\\b", true}, {"a\\b", false}, {"\"\n", true}};
    CHECK(no_exposition(status_prometheus(facts)).empty());
    facts.state->since = never;
    facts.state->configuration.loaded = Instant{};
    CHECK(no_exposition(status_prometheus(facts)).empty());
    facts.state.reset();
    CHECK(no_exposition(status_prometheus(facts)).empty());
}

TEST_CASE("the check of the format can fail", "[status]") {
    CHECK_FALSE(no_exposition("").empty());
    CHECK_FALSE(no_exposition("nightlatch_up 1\n").empty());
    CHECK_FALSE(no_exposition("# HELP a b\n# TYPE a info\na 1\n").empty());
    CHECK_FALSE(no_exposition("# HELP a b\n# TYPE a gauge\na 1\na 2\n").empty());
    CHECK_FALSE(no_exposition("# HELP a b\n# TYPE a gauge\na{c=\"\"d\"} 1\n").empty());
    CHECK(no_exposition("# HELP a b\n# TYPE a gauge\na{c=\"d\"} 1.5\n").empty());
}

TEST_CASE("status is one screen, and its words are safe", "[status]") {
    StatusFacts facts = fine();
    facts.state->line.line = "LID\x1b[2J";
    facts.state->configuration.path = "/etc/\nforged";
    facts.state->alarms = {{"battery low", true}};
    const std::string text = status_text(facts, {});
    CHECK(text.find('\x1b') == std::string::npos);
    CHECK_THAT(text, !ContainsSubstring("\nforged"));
    CHECK_THAT(text, ContainsSubstring("battery low: due"));
    CHECK_THAT(text, ContainsSubstring("read 95 s ago"));
    CHECK_THAT(text, ContainsSubstring("post-halt line  configured, not yet proven"));
}
