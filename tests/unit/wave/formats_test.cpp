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
    const CaptureRead of_dump = read_capture(dump, "");
    REQUIRE(of_dump.capture);
    CHECK(of_dump.capture->signal == "button");
    const CaptureRead of_table = read_capture("Time [us],button\n0,0\n10,1\n", "");
    REQUIRE(of_table.capture);
    CHECK(of_table.capture->edges == of_dump.capture->edges);
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
