// SPDX-License-Identifier: MIT
// Any bytes give a reading that keeps its promises, never a crash; the fuzzers look for longer.
#include "fuzz/capture_promises.hpp"
#include "unit/config/mutator.hpp"
#include "wave/csv_reader.hpp"
#include "wave/formats.hpp"
#include "wave/vcd_reader.hpp"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <iterator>

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

std::string in_small_letters(std::string_view word) {
    std::string small(word);
    std::transform(small.begin(), small.end(), small.begin(), [](unsigned char c) {
        return static_cast<char>(std::tolower(c));
    });
    return small;
}

/// The texts that the format's fuzzer begins with.
std::vector<std::string> corpus(const Format& format) {
    const std::filesystem::path folder =
        std::filesystem::path(FUZZERS) / "corpus" / in_small_letters(format.word);
    std::vector<std::string> texts;
    for (const auto& file : std::filesystem::directory_iterator(folder)) {
        std::ifstream stream(file.path(), std::ios::binary);
        texts.emplace_back(std::istreambuf_iterator<char>(stream),
                           std::istreambuf_iterator<char>());
    }
    return texts;
}

/// How much of what came of all texts was there to break a promise?
struct Tally {
    std::size_t edges = 0;
    std::size_t problems = 0;
};

void check(const std::string& text, const Format& format, Tally& tally) {
    for (const char* signal : {"", "button"}) {
        const CaptureRead read = format.read(text, signal, most_captured_edges, std::nullopt);
        if (const std::string promise = test::broken(read, text); !promise.empty()) {
            FAIL(promise << "\nof this text:\n" << text);
        }
        tally.edges += read.capture ? read.capture->edges.size() : 0;
        tally.problems += read.problems.size();
    }
}

}  // namespace

TEST_CASE("random bytes give a reading that keeps its promises", "[wave][bytes]") {
    Dice dice(test::seed_for("random bytes as captures"));
    Tally tally;
    for (int i = 0; i < 2'000; ++i) {
        const std::string text = test::random_bytes(dice, 400);
        for (const Format& format : formats()) {
            check(text, format, tally);
        }
    }
    CHECK(tally.problems > 1'000);
}

TEST_CASE("a damaged capture of each format gives a reading that keeps its promises",
          "[wave][bytes]") {
    for (const Format& format : formats()) {
        CAPTURE(format.word);
        Dice dice(test::seed_for("damaged " + std::string(format.word)));
        const std::vector<std::string> texts = corpus(format);
        REQUIRE_FALSE(texts.empty());
        Tally tally;
        for (int i = 0; i < 4'000; ++i) {
            check(test::mutated(dice, texts, texts), format, tally);
        }
        CHECK(tally.edges > 1'000);
        CHECK(tally.problems > 1'000);
    }
}

TEST_CASE("each format of captures has a fuzzer", "[wave][bytes]") {
    for (const Format& format : formats()) {
        const std::string fuzzer = in_small_letters(format.word) + "_fuzz.cpp";
        CHECK(std::filesystem::exists(std::filesystem::path(FUZZERS) / fuzzer));
    }
}

TEST_CASE("damaged voltages with a threshold give a reading that keeps its promises",
          "[wave][bytes]") {
    Dice dice(test::seed_for("damaged voltages"));
    const std::vector<std::string> texts{
        "Source,CH1\nSecond,Volt\n-5.0E-03,3.28E+00\n-4.0E-03,1.2E-02\n0,3.3\n",
        "Time (ms);lid (mV);button (mV)\n0,5;3300;3\n1;12 mV;3280\n2;-;0\n"};
    std::size_t edges = 0;
    for (int i = 0; i < 4'000; ++i) {
        const std::string text = test::mutated(dice, texts, texts);
        for (const char* signal : {"", "button"}) {
            const CaptureRead read =
                read_csv(text, signal, most_captured_edges, Thresholds{800'000'000, 2'000'000'000});
            if (const std::string promise = test::broken(read, text); !promise.empty()) {
                FAIL(promise << "\nof this text:\n" << text);
            }
            edges += read.capture ? read.capture->edges.size() : 0;
        }
    }
    CHECK(edges > 1'000);
}

TEST_CASE("a comment before a damaged dump moves every place by one line", "[wave][bytes]") {
    Dice dice(test::seed_for("shifted dumps"));
    std::size_t shifted = 0;
    for (int i = 0; i < 2'000; ++i) {
        const std::string text = test::mutated(dice, dumps, dumps);
        if (!text.starts_with('$')) {
            continue;  // what stands before the first keyword is passed over
        }
        ++shifted;
        const std::string promise = test::broken_by_shift(
            read_vcd(text, ""), read_vcd("$comment a line $end\n" + text, ""));
        if (!promise.empty()) {
            FAIL(promise << "\nof this text:\n" << text);
        }
    }
    CHECK(shifted > 1'000);
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
