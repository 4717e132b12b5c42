// SPDX-License-Identifier: MIT
// Source: IEEE 1364-2005, clause 18 (four-state value change dump files); the limits, the rounding
// and the choice by name are our own, no source.
#include "reads.hpp"
#include "wave/vcd_reader.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::wave;
using test::edges_of;
using test::problems_of;

namespace {

/// One wire "top.button" with the id code "!", then `changes`.
std::string one_wire(std::string_view changes, std::string_view timescale = "1 us") {
    return "$timescale " + std::string(timescale) +
           " $end\n"
           "$scope module top $end\n"
           "$var wire 1 ! button $end\n"
           "$upscope $end\n"
           "$enddefinitions $end\n" +
           std::string(changes);
}

CaptureRead read(std::string_view changes, std::string_view timescale = "1 us") {
    return read_vcd(one_wire(changes, timescale), "");
}

/// The example's declarations: two scopes, a vector, a real, bits apart, an alias.
std::string several(std::string_view changes = "#0 0! 0\" 0# 0$ 0%\n#5 1\"\n#9\n") {
    return "$date today $end $version pontoon $end\n"
           "$comment the $var in a comment is none $end\n"
           "$timescale 1 ms $end\n"
           "$scope module logger $end\n"
           "$var wire 1 ! button $end\n"
           "$var reg 8 ( level [7:0] $end\n"
           "$var real 64 ) battery $end\n"
           "$scope module panel $end\n"
           "$var wire 1 \" button $end\n"
           "$var wire 1 # lamp [0] $end\n"
           "$var wire 1 $ lamp [1] $end\n"
           "$upscope $end\n"
           "$var logic 1 % ready $end\n"
           "$var wire 1 % also_ready $end\n"
           "$upscope $end\n"
           "$enddefinitions $end\n" +
           std::string(changes);
}

}  // namespace

TEST_CASE("edges come with their times in nanoseconds, and the end is the last time", "[wave]") {
    const CaptureRead got = read("$dumpvars\n0!\n$end\n#3\n1!\n#5\n0!\n#9\n");
    CHECK(edges_of(got) == "low 3000 high 5000 low; end 9000");
    CHECK(problems_of(got).empty());
    REQUIRE(got.capture);
    CHECK(got.capture->signal == "top.button");
    CHECK(got.capture->unknown == 0);
}

TEST_CASE("what stands before the first keyword is passed over, and the places stay", "[wave]") {
    CHECK(edges_of(read_vcd("META samplerate: 1000\n" + one_wire("#0 0!\n#3 1!\n"), "")) ==
          "low 3000 high; end 3000");
    CHECK(problems_of(read_vcd("META samplerate: 1000\n" + one_wire("?\n"), ""))
              .starts_with("7:1: error: expected a time"));
    CHECK(vcd_signals("Saved by a program\n" + one_wire("")) ==
          std::vector<std::string>{"top.button"});
}

TEST_CASE("any white space stands between words, of any line ends", "[wave]") {
    const CaptureRead got = read_vcd("\r\n$timescale\r\n\t10\r\n\tus\r\n$end\r\n"
                                     "$var\twire 1\v! button\f$end $enddefinitions\n$end #0 0! "
                                     "#1 1!\r\n#2\r\n",
                                     "button");
    CHECK(edges_of(got) == "low 10000 high; end 20000");
    CHECK(problems_of(got).empty());
}

TEST_CASE("every timescale of the standard is known, with a blank before its unit or without",
          "[wave]") {
    CHECK(edges_of(read("#0 0! #2 1! #3", "1s")) == "low 2000000000 high; end 3000000000");
    CHECK(edges_of(read("#0 0! #2 1! #3", "100 ms")) == "low 200000000 high; end 300000000");
    CHECK(edges_of(read("#0 0! #2 1! #3", "10us")) == "low 20000 high; end 30000");
    CHECK(edges_of(read("#0 0! #2 1! #3", "1 ns")) == "low 2 high; end 3");
    CHECK(edges_of(read("#0 0! #20 1! #30", "100 ps")) == "low 2 high; end 3");
    CHECK(edges_of(read("#0 0! #2000000 1! #3000000", "1fs")) == "low 2 high; end 3");
}

TEST_CASE("a timescale that the standard does not have is refused", "[wave]") {
    for (const char* scale : {"2 ns", "1000 ns", "1 m", "ns", "1", "1.0 ns", "10 ns ns", ""}) {
        INFO(scale);
        const CaptureRead got = read("#0 0!", scale);
        CHECK_FALSE(got.capture);
        CHECK(problems_of(got).starts_with("1:1: error: the timescale is 1, 10 or 100 of s, ms, "
                                           "us, ns, ps or fs, not "));
        CHECK(got.problems.size() == 1);
    }
    const CaptureRead got = read_vcd("$var wire 1 ! b $end $enddefinitions $end #0 0!", "");
    CHECK(problems_of(got) == "1:22: error: no $timescale, without which no time can be told\n");
}

TEST_CASE("times count from the first one, unless values come before it", "[wave]") {
    CHECK(edges_of(read("#100 0! #102 1! #105")) == "low 2000 high; end 5000");
    CHECK(edges_of(read("0! #100 1! #105")) == "low 100000 high; end 105000");
    CHECK(edges_of(read("#18446744073709551610 0! #18446744073709551615 1!", "1 ps")) ==
          "high; end 0");
    CHECK(edges_of(read("#18446744073709551610 0! #18446744073709551615 1!", "1 ns")) ==
          "low 5 high; end 5");
}

TEST_CASE("below a nanosecond each time is rounded by itself, and the levels still alternate",
          "[wave]") {
    const CaptureRead got = read("#0 0! #1400 1! #1499 0! #1500 1! #2500 0! #3499", "1 ps");
    // 1.4 and 1.499 ns are both 1, and back at low there; 1.5 is 2; 2.5 and 3.499 are 3.
    CHECK(edges_of(got) == "low 2 high 3 low; end 3");
    CHECK(problems_of(got) ==
          "6:7: warning: finer than a nanosecond: times are rounded, and of several changes "
          "within one nanosecond only the last level counts\n");
    // The first time is rounded too, not only what lies between.
    CHECK(edges_of(read("#600 0! #1400 1! #2600 0!", "1 ps")) == "high 2 low; end 2");
    CHECK(read("#0 0! #1000 1!", "1 ps").problems.empty());
}

TEST_CASE("of several values at one time the last one counts", "[wave]") {
    CHECK(edges_of(read("#0 0! 1! #5 0! 1! #6 0! 1! 0! #7")) == "high 6000 low; end 7000");
    CHECK(edges_of(read("#0 0! #5 1! #5 0! #6 1!")) == "low 6000 high; end 6000");
}

TEST_CASE("an unknown level keeps the one before, and is counted", "[wave]") {
    const CaptureRead got = read("#0 0! #1 x! #2 X! #3 1! #4 z! #5 1! #6 Z! #7 0! #8");
    CHECK(edges_of(got) == "low 3000 high 7000 low; end 8000");
    REQUIRE(got.capture);
    CHECK(got.capture->unknown == 3);  // x and X are one stretch
}

TEST_CASE("an unknown start takes the first known level", "[wave]") {
    const CaptureRead written = read("$dumpvars x! $end #5 1! #6 0!");
    CHECK(edges_of(written) == "high 6000 low; end 6000");
    CHECK(written.capture->unknown == 1);
    const CaptureRead left_out = read("#0 #5 1! #6 0!");
    CHECK(edges_of(left_out) == "high 6000 low; end 6000");
    CHECK(left_out.capture->unknown == 1);
}

TEST_CASE("a signal that is never known is refused", "[wave]") {
    CHECK(problems_of(read("#0 x! #5 z!")) == "3:1: error: \"top.button\" is never 0 or 1\n");
    CHECK(problems_of(read("")) == "3:1: error: \"top.button\" is never 0 or 1\n");
}

TEST_CASE("all dump sections and comments among the changes are read", "[wave]") {
    const CaptureRead got = read("$comment 1! #77 $end #0 $dumpvars 0! $end #1 $dumpall 1! $end #2 "
                                 "$dumpoff x! $end #4 $dumpon 0! $end #5");
    CHECK(edges_of(got) == "low 1000 high 4000 low; end 5000");
    CHECK(got.capture->unknown == 1);
    CHECK(problems_of(got).empty());
}

TEST_CASE("a vector's value can stand for one bit, other signals' values are passed over",
          "[wave]") {
    CHECK(edges_of(read("#0 b0 ! #2 B1 ! #3 bx ! #4 b0 !")) == "low 2000 high 4000 low; end 4000");
    const CaptureRead got =
        read_vcd(several("#0 b00xz01 ( r3.7 ) 0! sdocked ) #2 1! R1e-3 )\n"), "logger.button");
    CHECK(edges_of(got) == "low 2000000 high; end 2000000");
    CHECK(problems_of(got).empty());
}

TEST_CASE("a signal is named in full, or by the end of its name", "[wave]") {
    CHECK(read_vcd(several(), "logger.panel.button").capture->edges.size() == 1);
    CHECK(read_vcd(several(), "panel.button").capture->signal == "logger.panel.button");
    CHECK(read_vcd(several(), "lamp[0]").capture->signal == "logger.panel.lamp[0]");
    CHECK(read_vcd(several(), "panel.lamp [1]").capture->signal == "logger.panel.lamp[1]");
    // Two names of one id code are one signal.
    CHECK(read_vcd(several(), "also_ready").capture->signal == "logger.also_ready");
    CHECK(read_vcd("$timescale 1 us $end $var wire 1 ! a $end $var wire 1 ! b $end "
                   "$enddefinitions $end #0 1!",
                   "")
              .capture->signal == "a");
}

TEST_CASE("a bit of a name without others is found without its bit", "[wave]") {
    const CaptureRead got = read_vcd("$timescale 1 us $end $var wire 1 ! button [0] $end "
                                     "$enddefinitions $end #0 1!",
                                     "button");
    CHECK(got.capture->signal == "button[0]");
}

TEST_CASE("an ambiguous name is refused with the full names", "[wave]") {
    CHECK(problems_of(read_vcd(several(), "button")) ==
          "16:1: error: several signals are named \"button\"; give the full name: "
          "\"logger.button\" and \"logger.panel.button\"\n");
    CHECK(problems_of(read_vcd(several(), "lamp")) ==
          "16:1: error: several signals are named \"lamp\"; give the full name: "
          "\"logger.panel.lamp[0]\" and \"logger.panel.lamp[1]\"\n");
    CHECK(problems_of(read_vcd(several(), ""))
              .starts_with("16:1: error: the file has several one-bit signals: say which is the "
                           "button's, as in --signal logger.button: there are \"logger.button\", "
                           "\"logger.panel.button\", "));
}

TEST_CASE("an unknown name is answered with the nearest and with all", "[wave]") {
    CHECK(problems_of(read_vcd(several(), "buton")) ==
          "16:1: error: no signal is named \"buton\" (did you mean \"button\"?); of one bit there "
          "are \"logger.button\", \"logger.panel.button\", \"logger.panel.lamp[0]\", "
          "\"logger.panel.lamp[1]\", \"logger.ready\" and \"logger.also_ready\"\n");
    CHECK(problems_of(read_vcd(one_wire("#0 0!"), "\x1b[31m")) ==
          "5:1: error: no signal is named \"\\u001B[31m\"; of one bit there is \"top.button\"\n");
    CHECK(problems_of(read_vcd("$timescale 1 ns $end $enddefinitions $end", "")) ==
          "1:22: error: the file has no one-bit signal\n");
}

TEST_CASE("what is not a level of one bit cannot be chosen", "[wave]") {
    CHECK(
        problems_of(read_vcd(several(), "level")) ==
        "6:1: error: \"logger.level[7:0]\" is a \"reg\" of 8 bits; a button's level is one bit of "
        "a wire or register\n");
    CHECK(problems_of(read_vcd(several(), "battery")).starts_with("7:1: error: "));
    CHECK(problems_of(read("#0 0! #1 b10 !")) ==
          "6:10: error: \"b10\" has more than the signal's one bit\n");
    CHECK(problems_of(read("#0 0! #1 r0.5 !")) ==
          "6:10: error: \"r0.5\" is not a value of one bit: 0, 1, x and z are\n");
}

TEST_CASE("all one-bit signals are listed with their full names", "[wave]") {
    CHECK(vcd_signals(several()) == std::vector<std::string>{"logger.button",
                                                             "logger.panel.button",
                                                             "logger.panel.lamp[0]",
                                                             "logger.panel.lamp[1]",
                                                             "logger.ready",
                                                             "logger.also_ready"});
    CHECK(vcd_signals("no such file").empty());
}

TEST_CASE("a time that goes back, is not a number, or is too late, is told with its place",
          "[wave]") {
    CHECK(problems_of(read("#5 0!\n#4 1!\n#3\n#12a 0!\n#")) ==
          "7:1: error: the time goes back: \"#4\" after \"#5\" (and 1 more like it)\n"
          "9:1: error: a time is # and a whole number up to 18446744073709551615, not \"#12a\" "
          "(and 1 more like it)\n");
    CHECK(problems_of(read("#0 0! #18446744073709551616")).starts_with("6:7: error: a time is "));
    // 366 days are 31,622,400 s.
    CHECK(edges_of(read("#0 0! #31622400 1!", "1 s")) ==
          "low 31622400000000000 high; end 31622400000000000");
    CHECK(problems_of(read("#0 0! #31622401 1!", "1 s")) ==
          "6:7: error: \"#31622401\" is more than 366 days after the start, which is a recording's "
          "most: is the timescale right?\n");
    CHECK(problems_of(read("#0 0! #18446744073709551615 1!", "100 s")).starts_with("6:7: error: "));
}

TEST_CASE("several slips of one file are told in one run, each kind once", "[wave]") {
    CHECK(problems_of(read("#0 0!\n2!\n1?\n1 !\n1\nb12 !\n$end\n$var wire 1 a b $end\nb1")) ==
          "7:1: error: expected a time (#10), a value change (0!, 1!, x!, z!, b0 !, r0.5 !) or a "
          "$dump section, not \"2!\"\n"
          "8:1: error: no $var declares the id code \"?\"\n"
          "9:1: error: the id code follows a value of one bit without a blank, as in \"1!\" (and 1 "
          "more like it)\n"
          "11:1: error: a vector's value is b and bits of 0, 1, x and z, not \"b12\"\n"
          "12:1: error: $end without a section that it could end\n"
          "13:1: error: $var after $enddefinitions\n"
          "14:1: error: the file ends before the id code of \"b1\"\n");
    std::string slips;
    for (int i = 0; i < 50; ++i) {
        slips += "?\n";
    }
    CHECK(problems_of(read(slips)).ends_with("not \"?\" (and 49 more like it)\n"));
}

TEST_CASE("slips of the declarations are told with their places", "[wave]") {
    CHECK(problems_of(read_vcd("$timescale 1 ns $end\n$timescale 1 ns $end\n$scope top $end\n"
                               "$var wire 1 ! $end\n$var wire one ! a $end\n"
                               "$var wire 1 \x80 a $end\nwire 1 ! a $end\n$upscope $end\n"
                               "$upscope $end\n$var wire 1 ! b\n$enddefinitions $end\n#0 0!",
                               "b")) ==
          "2:1: error: the timescale is there already\n"
          "3:1: error: expected a scope, \"$scope TYPE NAME $end\", such as \"module top\"\n"
          "4:1: error: expected a signal, \"$var TYPE SIZE ID NAME $end\", such as \"wire 1 ! "
          "button\"\n"
          "5:1: error: the size is a number of bits, not \"one\"\n"
          "6:1: error: an id code has printable ASCII characters only, not \"\\x80\"\n"
          "7:1: error: expected a declaration ($timescale, $scope, $var, $upscope, "
          "$enddefinitions, $comment), not \"wire\"\n"
          "9:1: error: $upscope leaves a scope, and none is open\n"
          "10:1: error: $var has no $end\n");
}

TEST_CASE("a file that is cut off, or is none, is refused where that shows", "[wave]") {
    CHECK(problems_of(read_vcd("", "")) ==
          "1:1: error: the file ends before \"$enddefinitions $end\"\n");
    CHECK(problems_of(read_vcd("$date now", "")) ==
          "1:1: error: \"$date\" has no $end\n"
          "1:10: error: the file ends before \"$enddefinitions $end\"\n");
    CHECK(problems_of(read_vcd("$timescale 1 us $end $var wire 1 ! a $end\n#0 0!\n", "")) ==
          "2:1: error: \"$enddefinitions $end\" is missing before the value changes\n");
    CHECK(read_vcd("time,level\n0,1\n", "").problems.size() == 2);
}

TEST_CASE("what other programs add or leave out is passed over with a warning", "[wave]") {
    const CaptureRead added = read("#0 0! $vcdclose #9 $end $vcdclose #9 $end #5");
    CHECK(edges_of(added) == "low; end 5000");
    CHECK(
        problems_of(added) ==
        "6:7: warning: \"$vcdclose\" is not a keyword of IEEE 1364; passed over up to its $end\n");
    const CaptureRead left_out = read("$dumpvars 0! #5 1!");
    CHECK(edges_of(left_out) == "low 5000 high; end 5000");
    CHECK(problems_of(left_out) == "6:14: warning: $dumpvars before this has no $end\n");
    // Told once, so that warnings alone never end the reading.
    std::string dumps = "#0 0! ";
    for (int i = 0; i < 30; ++i) {
        dumps += "$dumpall ";
    }
    CHECK(edges_of(read(dumps + "#1 1!")) == "low 1000 high; end 1000");
    CHECK(read(dumps + "#1 1!").problems.size() == 1);
    const CaptureRead header =
        read_vcd("$attrbegin misc 02 a 1 $end " + one_wire("#0 1!"), "button");
    CHECK(edges_of(header) == "high; end 0");
    CHECK(header.problems.size() == 1);
}

TEST_CASE("names beyond all measure are refused, not copied over and over", "[wave]") {
    std::string deep = "$timescale 1 ns $end\n";
    for (int i = 0; i < 600; ++i) {
        deep += "$scope module a $end\n";
    }
    CHECK(problems_of(read_vcd(deep, "")).starts_with("502:1: error: a signal's name with its "));
    std::string many = "$timescale 1 ns $end\n";
    for (int i = 0; i < 100'001; ++i) {
        many += "$var wire 1 ! a $end\n";
    }
    CHECK(problems_of(read_vcd(many, "")).starts_with("100002:1: error: more than 100,000 "));
}

TEST_CASE("one edge more than a capture may have is refused where it is", "[wave]") {
    const std::string text = one_wire("#0 0! #1 1! #2 0!\n#3 1! #4\n0! #5");
    CHECK(edges_of(read_vcd(text, "", 4)) == "low 1000 high 2000 low 3000 high 4000 low; end 5000");
    CHECK(problems_of(read_vcd(text + " 1!", "", 4)).starts_with("8:9: error: more than 4 "));
    // Told at the value after it, as it counts only when its instant is over.
    CHECK(problems_of(read_vcd(text + " 1! #6 0! #7 1!", "", 4)) ==
          "8:13: error: more than 4 edges, which is a recording's most: cut it, or choose another "
          "signal\n");
}
