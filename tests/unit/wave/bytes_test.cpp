// SPDX-License-Identifier: MIT
// Any bytes give a reading that keeps its promises, never a crash; the fuzzers look for longer.
#include "fuzz/capture_promises.hpp"
#include "unit/config/mutator.hpp"
#include "wave/csv_reader.hpp"
#include "wave/vcd_reader.hpp"

#include <functional>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::wave;
using test::Dice;

namespace {

const std::vector<std::string> dumps{
    "$timescale 1 us $end\n$scope module top $end\n$var wire 1 ! button $end\n$upscope $end\n"
    "$enddefinitions $end\n#0\n$dumpvars\nx!\n$end\n#10\n1!\n#20\n0!\n#25 1!\n#90\n",
    "$timescale 100ps $end\r\n$var wire 1 ! a $end\r\n$var reg 8 # b [7:0] $end\r\n"
    "$enddefinitions $end\r\n0! b01xz # #14 1! #15 0! #16 b1 ! #5000\r\n",
    "$version x $end $timescale 10 ms $end $var wire 1 \" button [0] $end $var real 64 ' v $end\n"
    "$enddefinitions $end $comment 1\" $end #3 r0.5 ' 1\"\n$dumpoff x\" $end\n#4 0\"\n"};

const std::vector<std::string> tables{
    "Time [ms],button\n0,0\n1,1\n2.5,0\n3,x\n4,1\n",
    "; a comment\n0;low\n0,5;high\n0,75;L\n1,5 ms;-\n",
    "; Channels (2/2): button, lamp\n; Samplerate: 3 MHz\nnanoseconds,logic,logic\n333,0,0\n"
    "666,1,0\n999,1,1\n",
    "; Channels (1/1): button\nMETA samplerate: 2500000\nlogic\n0\n1\n0\n"};

CaptureRead dump(std::string_view text, std::string_view signal) {
    return read_vcd(text, signal);
}

CaptureRead table(std::string_view text, std::string_view signal) {
    return read_csv(text, signal);
}

using Reader = std::function<CaptureRead(std::string_view, std::string_view)>;

/// How much of what came of all texts was there to break a promise?
struct Tally {
    std::size_t edges = 0;
    std::size_t problems = 0;
};

void check(const std::string& text, const Reader& reader, Tally& tally) {
    for (const char* signal : {"", "button"}) {
        const CaptureRead read = reader(text, signal);
        if (const std::string promise = test::broken(read, text); !promise.empty()) {
            FAIL(promise << "\nof this text:\n" << text);
        }
        tally.edges += read.capture ? read.capture->edges.size() : 0;
        tally.problems += read.problems.size();
    }
}

void check_damaged(const std::vector<std::string>& texts, const Reader& reader, Dice& dice) {
    Tally tally;
    for (int i = 0; i < 4'000; ++i) {
        check(test::mutated(dice, texts, texts), reader, tally);
    }
    CHECK(tally.edges > 1'000);
    CHECK(tally.problems > 1'000);
}

}  // namespace

TEST_CASE("random bytes give a reading that keeps its promises", "[wave][bytes]") {
    Dice dice(test::seed_for("random bytes as captures"));
    Tally tally;
    for (int i = 0; i < 2'000; ++i) {
        const std::string text = test::random_bytes(dice, 400);
        check(text, dump, tally);
        check(text, table, tally);
    }
    CHECK(tally.problems > 1'000);
}

TEST_CASE("damaged dumps give a reading that keeps its promises", "[wave][bytes]") {
    Dice dice(test::seed_for("damaged dumps"));
    check_damaged(dumps, dump, dice);
}

TEST_CASE("damaged tables give a reading that keeps its promises", "[wave][bytes]") {
    Dice dice(test::seed_for("damaged tables"));
    check_damaged(tables, table, dice);
}

TEST_CASE("a comment before a damaged dump moves every place by one line", "[wave][bytes]") {
    Dice dice(test::seed_for("shifted dumps"));
    for (int i = 0; i < 2'000; ++i) {
        const std::string text = test::mutated(dice, dumps, dumps);
        const std::string promise = test::broken_by_shift(
            read_vcd(text, ""), read_vcd("$comment a line $end\n" + text, ""));
        if (!promise.empty()) {
            FAIL(promise << "\nof this text:\n" << text);
        }
    }
}

TEST_CASE("a reading by a signal's own full name is the same", "[wave][bytes]") {
    Dice dice(test::seed_for("names of dumps"));
    std::size_t read_again = 0;
    for (int i = 0; i < 2'000; ++i) {
        const std::string text = test::mutated(dice, dumps, dumps);
        const CaptureRead read = read_vcd(text, "");
        if (read.capture) {
            ++read_again;
            INFO(text);
            CHECK(read_vcd(text, read.capture->signal).capture == read.capture);
        }
    }
    CHECK(read_again > 100);
}
