// SPDX-License-Identifier: MIT
// What `nightlatch status` takes from the logbook, in each of its forms.
#include "follow_stage.hpp"
#include "logbook/record_text.hpp"
#include "node_exporter.hpp"
#include "schema.hpp"
#include "unit/logbook/made.hpp"

#include <regex>
#include <set>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;
using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;
using logbook::line_of;
using logbook::Saw;

namespace {

/// Two that ended in order, one whose end was not seen, one that was lost, and one that goes on as
/// far as anybody knows.
std::string five_runs() {
    logbook::Ended slow = test::ended(2);
    slow.at.up += std::chrono::milliseconds(1'250);
    return line_of(test::started(1)) + line_of(test::ended(1)) + line_of(test::started(2)) +
           line_of(slow) + line_of(test::started(3)) + line_of(test::ended(3)) +
           line_of(test::started(4, Saw::recovery)) + line_of(test::started(5));
}

/// A unit with this logbook, on a bus with a service that is fine.
struct Unit {
    FollowStage stage;
    std::string config;

    explicit Unit(const std::string& book = {}) {
        const std::string file =
            book.empty() ? stage.desk().path("book") : stage.desk().file("book", book);
        config = stage.desk().file("unit.toml",
                                   content(TREE "/config/examples/tide-logger.toml") +
                                       "\n[logbook]\npath = \"" + file + "\"\n");
        stage.start_bus().start_service();
    }

    /// What status says, and that it ends as it does without a logbook.
    std::string status(const std::vector<std::string>& words) {
        std::vector<std::string> all{"status", "--config", config};
        all.insert(all.end(), words.begin(), words.end());
        const auto ran = stage.tool(all, "status");
        CHECK(stage.ended(*ran) == 0);
        return ran->output();
    }

    std::string metrics() {
        const std::string file = stage.desk().path("nightlatch.prom");
        CHECK(status({"--prometheus", "--output", file}).empty());
        CHECK(against_node_exporter(file).empty());
        return content(file);
    }
};

}  // namespace

TEST_CASE("status says how the last run ended, and counts", "[status][logbook]") {
    const std::string text = words_in(Unit(five_runs()).status({}));
    CHECK_THAT(
        text,
        ContainsSubstring("last run 4: lost runs 5: 2 orderly; 1 left, end not seen; 1 lost; "
                          "1 not known going down median 3 s, longest 4.3 s (run 2) presses "
                          "9, of them 3 let go before any stage"));
    CHECK_THAT(text, ContainsSubstring("held by the service"));
}

TEST_CASE("status without a logbook says so, and the rest is as it is", "[status][logbook]") {
    Unit unit;
    const std::string text = words_in(unit.status({}));
    CHECK_THAT(text, ContainsSubstring("/book: there is no logbook: no run has been written down"));
    CHECK_THAT(text, ContainsSubstring("held by the service"));
    CHECK_THAT(text, !ContainsSubstring("Wrong:"));
    const std::string metrics = unit.metrics();
    CHECK_THAT(metrics, ContainsSubstring("nightlatch_logbook_readable 0\n"));
    CHECK_THAT(metrics, ContainsSubstring("nightlatch_cue{cue=\"rest\"} 1\n"));
    CHECK_THAT(metrics, !ContainsSubstring("nightlatch_logbook_runs"));
}

TEST_CASE("the metrics have the logbook's share, as Debian's own collector reads them",
          "[status][logbook]") {
    const std::string metrics = Unit(five_runs() + "tide\ngauge\n").metrics();
    for (const char* sample : {"# TYPE nightlatch_runs_total counter\nnightlatch_runs_total 5\n",
                               "nightlatch_logbook_readable 1\n",
                               "nightlatch_logbook_unread_lines 2\n",
                               "nightlatch_logbook_last_end{end=\"lost\"} 1\n",
                               "nightlatch_logbook_last_end{end=\"orderly\"} 0\n",
                               "nightlatch_logbook_runs{end=\"orderly\"} 2\n",
                               "nightlatch_logbook_runs{end=\"left\"} 1\n",
                               "nightlatch_logbook_runs{end=\"lost\"} 1\n",
                               "nightlatch_logbook_runs{end=\"unknown\"} 1\n",
                               "nightlatch_logbook_runs{end=\"running\"} 0\n",
                               "nightlatch_logbook_near_misses 3\n",
                               "nightlatch_logbook_going_down_median_seconds 3.000\n",
                               "nightlatch_logbook_going_down_longest_seconds 4.250\n"}) {
        CHECK_THAT(metrics, ContainsSubstring(sample));
    }
    const std::string first = Unit(line_of(test::started(1))).metrics();
    CHECK_THAT(first, ContainsSubstring("nightlatch_runs_total 1\n"));
    CHECK_THAT(first, !ContainsSubstring("going_down"));
    CHECK_THAT(first, !ContainsSubstring("last_end"));
}

TEST_CASE("the manual names exactly the metrics that there are", "[status][logbook]") {
    const std::regex name("nightlatch_[a-z_]+");
    const auto names_in = [&](const std::string& text) {
        return std::set<std::string>(std::sregex_token_iterator(text.begin(), text.end(), name),
                                     std::sregex_token_iterator());
    };
    std::set<std::string> written;
    std::istringstream metrics(Unit(five_runs()).metrics());
    for (std::string line; std::getline(metrics, line);) {
        if (line.starts_with("# TYPE ")) {
            written.merge(names_in(line));
        }
    }
    CHECK(written == names_in(content(TREE "/daemon/tool/nightlatch.1")));
}

TEST_CASE("a logbook with nothing that can be read is none that fails", "[status][logbook]") {
    const std::string metrics = Unit("tide\n").metrics();
    CHECK_THAT(metrics, ContainsSubstring("nightlatch_logbook_unread_lines 1\n"));
    CHECK_THAT(metrics, !ContainsSubstring("nightlatch_runs_total"));
}

TEST_CASE("status --json has the logbook's share, as its schema says", "[status][logbook]") {
    for (const std::string& book : {five_runs(), line_of(test::started(1)), std::string()}) {
        INFO(book);
        const std::string text = Unit(book).status({"--json"});
        CHECK(spoiled_against_schema("status", text).empty());
    }
    const auto json = nlohmann::json::parse(Unit(five_runs()).status({"--json"}));
    CHECK(json["logbook"]["last"] == "lost");
    CHECK(json["logbook"]["trouble"].is_null());
    CHECK(json["logbook"]["summary"]["longest_us"] == 4'250'000);
}

TEST_CASE("both answers have one form of the summary", "[status][logbook]") {
    const auto form = [](const std::string& name) {
        return nlohmann::json::parse(
                   content(TREE "/daemon/tool/" + name + "/nightlatch-" + name + ".schema.json"))
            .at("$defs")
            .at("summary");
    };
    CHECK(form("status") == form("logbook"));
}
