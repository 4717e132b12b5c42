// SPDX-License-Identifier: MIT
#include "wave/formats.hpp"

#include <fstream>
#include <iterator>
#include <string>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::wave;
using Catch::Matchers::ContainsSubstring;

TEST_CASE("a capture is read as what it begins like, whatever its name") {
    const char* const dump = "\r\n$timescale 1 us $end $var wire 1 ! button $end "
                             "$enddefinitions $end #0 0! #10 1!";
    const CaptureRead of_dump = read_capture({GENERATE("", "a.vcd", "a.csv"), dump}, "");
    REQUIRE(of_dump.capture);
    CHECK(of_dump.capture->signal == "button");
    const CaptureRead of_table = read_capture({"", "Time [us],button\n0,0\n10,1\n"}, "");
    REQUIRE(of_table.capture);
    CHECK(of_table.capture->edges == of_dump.capture->edges);
}

TEST_CASE("lines before a dump's first keyword do not make it a table") {
    // What sigrok-cli 0.7.2 writes from raw samples; tests/system/wave runs the program itself.
    const std::string dump = "META samplerate: 1000\n$date now $end\n$timescale 1 ms $end\n"
                             "$var wire 1 ! 0 $end\n$enddefinitions $end\n#0 1!\n#1 0!\n#4\n";
    const char* const name = GENERATE("", "sig.vcd", "SIG.VCD", "sig.csv");
    const CaptureRead read = read_capture({name, dump}, "");
    CHECK(read.problems.empty());
    REQUIRE(read.capture);
    CHECK(read.capture->edges.size() == 1);
}

TEST_CASE("a text that does not show what it is goes by its name's end") {
    CHECK_THAT(read_capture({"cut.vcd", "#0 1!\n#1 0!\n"}, "").problems.front().text,
               ContainsSubstring("$enddefinitions"));
    CHECK_THAT(read_capture({"vcd", "#0 1!\n"}, "").problems.front().text,
               ContainsSubstring("the file has no rows"));
}

TEST_CASE("thresholds reach a table, and a dump refuses them") {
    const Thresholds at{1'600'000'000, 1'600'000'000};
    const CaptureRead read = read_capture({"scope.csv", "t,CH1\n0,0\n1,3.3\n"}, "", at);
    REQUIRE(read.capture);
    CHECK(read.capture->edges.size() == 1);
    CHECK_THAT(read_capture({"a.vcd", "$date $end"}, "", at).problems.front().text,
               ContainsSubstring("leave --threshold out"));
}

TEST_CASE("a sigrok session is named for what it is") {
    const CaptureRead read =
        read_capture({"lid.sr", std::string_view("PK\x03\x04\x14\0a,b\n", 10)}, "");
    CHECK_FALSE(read.capture);
    REQUIRE(read.problems.size() == 1);
    CHECK_THAT(read.problems.front().text,
               ContainsSubstring("zip archive") &&
                   ContainsSubstring("sigrok-cli -i session.sr -O vcd -o capture.vcd"));
}

TEST_CASE("each manual of a command that reads captures names each format") {
    const std::string path =
        GENERATE(TOOL "/bounce/nightlatch-bounce.1", TOOL "/rehearse/nightlatch-rehearse.1");
    std::ifstream file(path);
    const std::string manual((std::istreambuf_iterator<char>(file)), {});
    for (const Format& format : formats()) {
        CAPTURE(path);
        CHECK_THAT(manual,
                   ContainsSubstring("(" + std::string(format.word) + ")") ||
                       ContainsSubstring(" " + std::string(format.word) + ")"));
    }
}
