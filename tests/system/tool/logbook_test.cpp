// SPDX-License-Identifier: MIT
// `nightlatch logbook` on files as the writer leaves them.
#include "daemon/tool/logbook/logbook.hpp"
#include "desk.hpp"
#include "logbook/record_text.hpp"
#include "schema.hpp"
#include "unit/logbook/made.hpp"

#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;
using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;
using logbook::line_of;
using logbook::Saw;

namespace {

const auto midnight = *tool::day_in("2026-11-30");

logbook::Started on_day(unsigned number, int days, Saw root = Saw::clean) {
    logbook::Started record = test::started(number, root);
    record.at.day = midnight + std::chrono::hours(24 * days);
    return record;
}

/// Three runs that ended in order, one without a clock among them; one that was lost; this one.
std::string pontoon() {
    return line_of(on_day(1, 0)) + line_of(test::ended(1)) + line_of(test::started(2)) +
           line_of(test::ended(2)) + line_of(on_day(3, 2)) + line_of(test::ended(3)) +
           line_of(on_day(4, 3)) + line_of(on_day(5, 4, Saw::recovery));
}

nlohmann::json answer(const std::string& words) {
    return nlohmann::json::parse(run_tool("logbook --json " + words).out);
}

}  // namespace

TEST_CASE("the logbook says first how the last run ended, then counts and shows all", "[logbook]") {
    const Desk desk;
    const Ran ran = run_tool("logbook " + desk.file("book", pontoon()));
    CHECK(ran.status == 1);
    CHECK(ran.err.empty());
    CHECK_THAT(ran.out, StartsWith("lost  run 4: it recorded no end"));
    const std::string text = flat(ran.out);
    CHECK_THAT(text, ContainsSubstring("5: 3 orderly; 1 lost; 1 not known"));
    CHECK_THAT(text, ContainsSubstring("median 3 s, longest 3 s (run 1)"));
    CHECK_THAT(text, ContainsSubstring("time_to_go_down = \"3 s\""));
    CHECK_THAT(text, ContainsSubstring("9, of them 3 let go before any stage"));
    CHECK_THAT(ran.out, ContainsSubstring("  4  2026-12-03 00:00 UTC  lost\n"));
    CHECK_THAT(ran.out,
               ContainsSubstring("  2  not known             orderly            3 s  ==="));
    CHECK(ran.out.find("  4  2026") < ran.out.find("  1  2026"));
}

TEST_CASE("a last run that ended in order, and a logbook with no ended run, end with 0",
          "[logbook]") {
    const Desk desk;
    const std::string orderly =
        line_of(test::started(1)) + line_of(test::ended(1)) + line_of(test::started(2));
    const Ran ran = run_tool("logbook " + desk.file("book", orderly));
    CHECK(ran.status == 0);
    CHECK_THAT(flat(ran.out), StartsWith("orderly  run 1: it shut down in order, in 3.000 s ("));
    const Ran first = run_tool("logbook " + desk.file("first", line_of(test::started(1))));
    CHECK(first.status == 0);
    CHECK_THAT(first.out, StartsWith("No run has ended yet"));
}

TEST_CASE("without a logbook, or with something else in its place, there is no answer",
          "[logbook]") {
    const Desk desk;
    const Ran none = run_tool("logbook " + desk.path("none"));
    CHECK(none.status == 2);
    CHECK(none.out.empty());
    CHECK_THAT(none.err, ContainsSubstring("there is no logbook: no run has been written down"));
    CHECK(run_tool("logbook " + desk.folder.path()).status == 2);
    for (const char* const day : {"tide",
                                  "2026-13-01",
                                  "2026-02-30",
                                  "2026-11-30 24:00",
                                  "2026-11-30 06:1",
                                  "2026-11-30x06:12",
                                  "06:12"}) {
        const Ran ran =
            run_tool("logbook " + desk.file("book", pontoon()) + " --since '" + day + "'");
        INFO(day);
        CHECK(ran.status == 2);
        CHECK_THAT(ran.err, ContainsSubstring("is not a day like 2026-11-30"));
    }
}

TEST_CASE("a file that was put away is read before it, and what is damaged is told", "[logbook]") {
    const Desk desk;
    (void)desk.file("book.1", line_of(test::started(1)) + "tide\n" + line_of(test::ended(1)));
    const std::string file = desk.file("book", line_of(test::started(2)) + "{\"length\":4");
    const Ran ran = run_tool("logbook " + file);
    CHECK(ran.status == 0);
    const std::string text = flat(ran.out);
    CHECK_THAT(text, ContainsSubstring("book.1:2: 1 line of 5 bytes in all, damaged, or cut off"));
    CHECK_THAT(text, ContainsSubstring("book:2: 1 line of 11 bytes in all, cut off while"));
    const auto json = answer(file);
    CHECK(json["unread"].size() == 2);
    CHECK(json["unread"][1]["why"] == "torn");
}

TEST_CASE("since a day: all from the first run that is known to have been then", "[logbook]") {
    const Desk desk;
    const std::string file = desk.file("book", pontoon());
    CHECK(answer(file)["runs"].size() == 5);
    CHECK(answer(file + " --since 2026-11-30")["runs"].size() == 5);
    CHECK(answer(file + " --since '2026-11-30 00:01'")["runs"].size() == 3);
    CHECK(answer(file + " --since 2026-12-03")["runs"][0]["run"] == 4);
    const auto none = answer(file + " --since 2027-01-01");
    CHECK(none["runs"].empty());
    CHECK(none["last"].is_null());
}

TEST_CASE("the table has the last twenty runs, or all", "[logbook]") {
    const Desk desk;
    std::string text;
    for (unsigned run = 1; run <= 25; ++run) {
        text += line_of(test::started(run)) + line_of(test::ended(run));
    }
    const std::string file = desk.file("book", text);
    const std::string some = run_tool("logbook " + file).out;
    CHECK_THAT(some, ContainsSubstring("5 earlier runs: --all shows all"));
    CHECK_THAT(some, !ContainsSubstring("\n    5  "));
    const std::string all = run_tool("logbook --all " + file).out;
    CHECK_THAT(all, ContainsSubstring("\n    1  not known  orderly"));
    CHECK_THAT(all, !ContainsSubstring("--all"));
}

TEST_CASE("a program is told of each run in numbers", "[logbook]") {
    const Desk desk;
    const logbook::Witnessed seen{test::run_id(1), {}, "rail to 0 V, 2.1 s", "line = 6\n"};
    const auto json = answer(desk.file("book", pontoon() + line_of(seen)));
    CHECK(json["format"] == "nightlatch-logbook");
    CHECK(json["last"] == "lost");
    CHECK(json["summary"]["longest_us"] == 3'000'000);
    CHECK(json["summary"]["median_us"] == 3'000'000);
    const auto& first = json["runs"][0];
    CHECK(first["boot"] == test::boot_id(1));
    CHECK(first["end"] == "orderly");
    CHECK(first["took_us"] == 3'000'000);
    CHECK(first["started"]["day_us"] == midnight.time_since_epoch().count());
    CHECK(json["runs"][1]["started"]["day_us"].is_null());
    CHECK(first["ended"]["going_down_us"] == 7'201'000'000);
    CHECK(first["witnessed"][0]["words"] == "rail to 0 V, 2.1 s");
    CHECK(json["runs"][3]["ended"].is_null());
    CHECK(json["runs"][4]["end"] == "not-looked");
}

TEST_CASE("logbook --json is as its schema says, which takes nothing less", "[logbook]") {
    const Desk desk;
    const logbook::Witnessed seen{test::run_id(1), {}, "rail to 0 V, 2.1 s", "line = 6\n"};
    logbook::Ended alone = test::ended(2);
    alone.summary.reset();
    logbook::Started after = on_day(2, 1);
    after.stopping = logbook::Stopping{"tide-upload.service",
                                       std::chrono::seconds(2),
                                       {"tide-upload.service"},
                                       {"gauge.service"},
                                       "poweroff.target"};
    (void)desk.file("torn.1", pontoon() + "tide\n");
    const std::string books[] = {
        desk.file("witnessed", pontoon() + line_of(seen)),
        desk.file("first", line_of(test::started(1))),
        desk.file("no-summary", line_of(test::started(2)) + line_of(alone)),
        desk.file("why-slow", line_of(on_day(1, 0)) + line_of(test::ended(1)) + line_of(after)),
        desk.file("no-start", line_of(test::ended(2))),
        desk.file("torn", line_of(test::started(6)) + "{\"length\":4"),
        desk.file("none", pontoon()) + " --since 2027-01-01",
    };
    for (const std::string& book : books) {
        INFO(book);
        CHECK(spoiled_against_schema("logbook", run_tool("logbook --json " + book).out).empty());
    }
}

TEST_CASE("what a person watched is told by logbook and audit as their schemas say", "[logbook]") {
    const Desk desk;
    const logbook::Witnessed seen{test::run_id(1), {}, "rail to 0 V, 2.1 s", "line = 6\n"};
    const std::string book = desk.file("book", pontoon() + line_of(seen));
    const std::string unit = desk.file("unit.toml",
                                       content(TREE "/config/examples/tide-logger.toml") +
                                           "\n[logbook]\npath = \"" + book + "\"\n");
    for (const std::string command : {"logbook", "audit"}) {
        const std::string told = run_tool(command + " --json --config " + unit).out;
        INFO(told);
        CHECK(nlohmann::json::parse(told)["witness"]["words"] == "rail to 0 V, 2.1 s");
        CHECK(spoiled_against_schema(command, told).empty());
    }
}

TEST_CASE("the schema and the manual name every way in which a run can end", "[logbook]") {
    const std::string schema = content(TREE "/daemon/tool/logbook/nightlatch-logbook.schema.json");
    const std::string manual = content(TREE "/daemon/tool/logbook/nightlatch-logbook.1");
    for (const logbook::End end : {logbook::End::running,
                                   logbook::End::orderly,
                                   logbook::End::left,
                                   logbook::End::lost,
                                   logbook::End::lost_last_words,
                                   logbook::End::unknowable,
                                   logbook::End::not_looked}) {
        std::string word = tool::end_word(end);
        INFO(word);
        CHECK_THAT(schema, ContainsSubstring(word));
        for (std::size_t at = 0; (at = word.find('-', at)) != std::string::npos; at += 2) {
            word.insert(at, "\\");  // as troff has it
        }
        CHECK_THAT(manual, ContainsSubstring(word));
    }
}

TEST_CASE("words of others steer no terminal", "[logbook]") {
    const Desk desk;
    logbook::Started next = test::started(2, Saw::recovery);
    next.evidence[0].words = "tide\x1b[2J";
    const logbook::Witnessed seen{test::run_id(1), {}, "\x1b]0;x\x07", ""};
    const Ran ran =
        run_tool("logbook " + desk.file("book",
                                        line_of(test::started(1)) + line_of(test::ended(1)) +
                                            line_of(next) + line_of(seen)));
    CHECK_THAT(ran.out, !ContainsSubstring("\x1b"));
    CHECK_THAT(flat(ran.out), ContainsSubstring("\\u001B[2J"));
    CHECK_THAT(flat(ran.out), ContainsSubstring("a person saw the supply go: \"\\u001B]0;x"));
}

TEST_CASE("each line is JSON for another reader, too", "[logbook]") {
    const logbook::Witnessed seen{
        test::run_id(1), {}, "a \"b\" \\ \x01\t \u00e9 \xF0\x9F\x94\xAF\xFF", "line = 6\n"};
    std::istringstream lines(pontoon() + line_of(seen));
    std::size_t count = 0;
    for (std::string line; std::getline(lines, line); ++count) {
        const auto json = nlohmann::json::parse(line);
        CHECK(json["length"] == line.size() - line.find("\"version\""));
        CHECK(json["crc32c"].get<std::string>().size() == 8);
        CHECK(json["version"] == 1);
        if (json["kind"] == "witnessed") {
            CHECK(json["words"] == "a \"b\" \\ \x01\t \u00e9 \xF0\x9F\x94\xAF\xEF\xBF\xBD");
            CHECK(json["facts"] == seen.facts);
        }
    }
    CHECK(count == 9);
}

TEST_CASE("a day is read and shown as the calendar has it", "[logbook]") {
    // 2026-11-30 is 20,787 days after 1970-01-01: date -u -d 2026-11-30 +%s is 1795996800.
    CHECK(midnight.time_since_epoch() == std::chrono::seconds(1'795'996'800));
    CHECK(tool::day_text(*tool::day_in("2024-02-29 06:05")) == "2024-02-29 06:05 UTC");
    CHECK(tool::day_text(*tool::day_in("2026-11-30T23:59")) == "2026-11-30 23:59 UTC");
    CHECK(tool::day_text(logbook::DayClock::time_point(std::chrono::seconds(-1))) ==
          "1969-12-31 23:59 UTC");
}
