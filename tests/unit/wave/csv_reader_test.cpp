// SPDX-License-Identifier: MIT
// Sources: RFC 4180 for fields and quotation marks; [libsigrok 0.5.2, src/output/csv.c] for what
// sigrok-cli writes (tests/system/wave runs the program itself); else our own rules, as
// wave/csv_reader.hpp states them, no source. The
// two rows of names and units are common practice among oscilloscopes, no source.
#include "reads.hpp"
#include "wave/csv_reader.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::wave;
using test::edges_of;
using test::problems_of;

namespace {

CaptureRead table(std::string_view text, std::string_view signal = "") {
    return read_csv(text, signal);
}

CaptureRead volts(std::string_view text, std::string_view threshold, std::string_view signal = "") {
    return read_csv(text, signal, most_captured_edges, *parse_thresholds(threshold));
}

}  // namespace

TEST_CASE("rows of a time in seconds and a level need no names", "[wave]") {
    const CaptureRead got = table("0,0\n0.002,1\n0.0075,0\n1,0\n");
    CHECK(edges_of(got) == "low 2000000 high 7500000 low; end 1000000000");
    CHECK(problems_of(got).empty());
    REQUIRE(got.capture);
    CHECK(got.capture->signal == "column 2");
    CHECK(got.capture->unknown == 0);
}

TEST_CASE("a row of names tells the time, its unit and the level", "[wave]") {
    CHECK(edges_of(table("Time [s],button\n0,0\n1,1\n")) == "low 1000000000 high; end 1000000000");
    CHECK(edges_of(table("time_ms,button\n0,0\n1,1\n")) == "low 1000000 high; end 1000000");
    CHECK(edges_of(table("Time (us),button\n0,0\n1,1\n")) == "low 1000 high; end 1000");
    CHECK(edges_of(table("Time (\xC2\xB5s),button\n0,0\n1,1\n")) == "low 1000 high; end 1000");
    CHECK(edges_of(table("t/ns,button\n0,0\n1,1\n")) == "low 1 high; end 1");
    CHECK(edges_of(table("timestamp,button\n0,0\n1,1\n")) == "low 1000000000 high; end 1000000000");
    CHECK(edges_of(table("nanoseconds,button\n0,0\n1,1\n")) == "low 1 high; end 1");
    CHECK(edges_of(table("Time [ps],button\n0,0\n1500,1\n")) == "low 2 high; end 2");
    // The time need not be the first column, and the first is the time when none is called so.
    CHECK(edges_of(table("button,Time [ms]\n0,0\n1,1\n")) == "low 1000000 high; end 1000000");
    CHECK(edges_of(table("when (ms),button\n0,0\n1,1\n")) == "low 1000000 high; end 1000000");
}

TEST_CASE("a unit of time that is not known is refused", "[wave]") {
    CHECK(problems_of(table("Time (ticks),button\n0,0\n")) ==
          "1:1: error: \"Time (ticks)\" has no unit that is known: use s, ms, us or ns, as in "
          "\"Time [ms]\"; without one, times are seconds\n");
}

TEST_CASE("of several levels the named column is read", "[wave]") {
    const std::string text = "Time [ms],lamp,button\n0,0,0\n5,1,0\n6,1,1\n";
    CHECK(edges_of(table(text, "lamp")) == "low 5000000 high; end 6000000");
    CHECK(edges_of(table(text, "button")) == "low 6000000 high; end 6000000");
    CHECK(table(text, "button").capture->signal == "button");
    CHECK(problems_of(table(text)) ==
          "1:16: error: several columns of levels: say which is the button's, as in --signal lamp: "
          "there are \"lamp\" and \"button\"\n");
    CHECK(problems_of(table("t,my lamp,$(x)\n0,0,0\n")) ==
          "1:11: error: several columns of levels: say which is the button's, as in --signal NAME: "
          "there are \"my lamp\" and \"$(x)\"\n");
    CHECK(
        problems_of(table(text, "buton")) ==
        "1:1: error: no column of levels is named \"buton\" (did you mean \"button\"?); there are "
        "\"lamp\" and \"button\"\n");
    CHECK(problems_of(table(text, "Time [ms]")).starts_with("1:1: error: no column of levels is "));
    CHECK(problems_of(table("t,a,a\n0,0,0\n", "a")) ==
          "1:5: error: several columns are named \"a\"\n");
    CHECK(problems_of(table("0,0,0\n")) ==
          "1:1: error: no row of names at the start, so a row is a time and one level: no column "
          "can be chosen by name\n");
    CHECK(problems_of(table("0,0\n", "button")).starts_with("1:1: error: no row of names at the "));
}

TEST_CASE("commas, semicolons and tabs separate, whichever the first row has", "[wave]") {
    CHECK(edges_of(table("0;0\n0.5;1\n")) == "low 500000000 high; end 500000000");
    CHECK(edges_of(table("0\t0\r\n0.5\t1\r\n")) == "low 500000000 high; end 500000000");
    CHECK(edges_of(table("\"Time, s\",\"the button\"\r\n\"0\", 0 \r\n 0.5 ,\"1\"", "the button")) ==
          "low 500000000 high; end 500000000");
}

TEST_CASE("a decimal comma is read where no comma separates", "[wave]") {
    CHECK(edges_of(table("Zeit;Taster\n0,5;0\n0,75;1\n")) == "low 250000000 high; end 250000000");
    CHECK(edges_of(table("0,5\t0\n1,5 ms\t1\n0.75\t0\n")) == "nothing");
    CHECK(edges_of(table("0\t0\n1,5 ms\t1\n")) == "low 1500000 high; end 1500000");
    CHECK(problems_of(table("0,0\n0,5,1\n")) ==
          "2:1: error: this row has 3 fields, the first has 2\n");
}

TEST_CASE("comments, blank lines and a byte order mark are passed over", "[wave]") {
    const CaptureRead got =
        table("\xEF\xBB\xBF; a comment\n\n  # another\nt,b\n\n0,0\n;\n \t\r\n1,1");
    CHECK(edges_of(got) == "low 1000000000 high; end 1000000000");
    CHECK(problems_of(got).empty());
}

TEST_CASE("times are exact decimals, with exponents, signs or units of their own", "[wave]") {
    CHECK(edges_of(table("-1.5e-3,0\n+0.0000000014,1\n2E3,0\n")) ==
          "low 1500001 high 2000001500000 low; end 2000001500000");
    CHECK(edges_of(table("0 s,0\n12.5 ms,1\n1 min,0\n")) ==
          "low 12500000 high 60000000000 low; end 60000000000");
    // Seconds since 1970 keep their nanoseconds, which a double would lose.
    CHECK(edges_of(table("1769000000.000000001,0\n1769000000.000000003,1\n")) ==
          "low 2 high; end 2");
    CHECK(edges_of(table("0,0\n.5,1\n1.,0\n")) ==
          "low 500000000 high 1000000000 low; end 1000000000");
    CHECK(edges_of(table("0,0\n0.00000000049999,1\n0.0000000005,0\n0.0000000015,1\n")) ==
          "high 1 low 2 high; end 2");
    CHECK(edges_of(table("0,0\n0e99999999999999999999,1\n1e-99999999999999999999,0\n1,1\n")) ==
          "low 1000000000 high; end 1000000000");
}

TEST_CASE("what is no time is refused with what is allowed", "[wave]") {
    for (const char* time : {"",
                             "x",
                             "1e",
                             "1.2.3",
                             "0x10",
                             "1 fortnight",
                             "1 ns",
                             "inf",
                             "nan",
                             "1 000",
                             "--1",
                             ".",
                             "25 h"}) {
        INFO(time);
        const CaptureRead got = table("0,0\n" + std::string(time) + ",1\n");
        CHECK(got.problems.size() == 1);
        CHECK(problems_of(got).starts_with("2:1: error: a time is a number, or one with a unit of "
                                           "us, ms, s, min or h, up to 24 h"));
    }
    CHECK(problems_of(table("0,0\n1e10,1\n")) ==
          "2:1: error: the time \"1e10\" is beyond 126 years: is its unit right?\n");
    CHECK(
        problems_of(table("0,0\n1e99999999999999999999,1\n")).starts_with("2:1: error: the time "));
}

TEST_CASE("levels are read in all their usual words", "[wave]") {
    CHECK(edges_of(table("0,low\n1e-9,HIGH\n2e-9,L\n3e-9,h\n4e-9,False\n5e-9,true\n6e-9,0\n"
                         "7e-9,1\n")) ==
          "low 1 high 2 low 3 high 4 low 5 high 6 low 7 high; end 7");
    const CaptureRead got = table("t,b\n0,-\n1e-9,x\n2e-9,1\n3e-9,\n4e-9,Z\n5e-9,0\n");
    CHECK(edges_of(got) == "high 5 low; end 5");
    CHECK(got.capture->unknown == 2);
    CHECK(problems_of(table("t,b\n0,x\n1,\n")) == "1:3: error: \"b\" is never low or high\n");
    CHECK(problems_of(table("0,0\n1,up\n2,10 A\n")) ==
          "2:3: error: a level is 0, 1, low, high, L, H, true or false, and x, z, - or nothing "
          "where it is not known, not \"up\" (and 1 more like it)\n");
}

TEST_CASE("voltages are refused, once, with a threshold that could do", "[wave]") {
    CHECK(problems_of(table("Time [s],Channel 0\n0,0.012\n1,3.281\n2,3.279\n")) ==
          "2:3: error: \"0.012\" looks like a voltage: say from where on it is high, as in "
          "--threshold \"1.65 V\"; \"Channel 0\" goes from 12 mV to 3.28 V\n");
    CHECK(problems_of(table("0;0\n1;3,3\n")) ==
          "2:3: error: \"3,3\" looks like a voltage: say from where on it is high, as in "
          "--threshold \"1.65 V\"; \"column 2\" goes from 0 V to 3.3 V\n");
    CHECK(problems_of(table("Time [s],CH1 (mV)\n0,-20\n1,240\n"))
              .ends_with("--threshold \"110 mV\"; \"CH1 (mV)\" goes from -20 mV to 240 mV\n"));
}

TEST_CASE("with a threshold voltages are levels", "[wave]") {
    const std::string rows = "t,CH1\n0,3.28\n1e-9,1.2\n2e-9,0.4\n3e-9,1.7\n4e-9,1.2\n5e-9,2.4\n";
    CHECK(edges_of(volts(rows, "1.6 V")) == "high 1 low 3 high 4 low 5 high; end 5");
    // Between the two it stays as it was, from 1 ns on and from 3 ns on.
    CHECK(edges_of(volts(rows, "0.8 V, 2.0 V")) == "high 2 low 5 high; end 5");
    CHECK(edges_of(volts("0,1\n1e-9,2\n2e-9,0\n", "1 V,1 V")) == "high 2 low; end 2");
    CHECK(edges_of(volts("0;0,2\n1e-9;3,3\n2e-9;-1E-1\n", "1.6 V")) == "low 1 high 2 low; end 2");
    const CaptureRead gaps = volts("0,-\n1e-9,5 V\n2e-9,\n3e-9,900 mV\n", "1600 mV");
    CHECK(edges_of(gaps) == "high 3 low; end 3");
    CHECK(gaps.capture->unknown == 2);
}

TEST_CASE("a unit of voltage counts, and a name may be given without it", "[wave]") {
    for (const char* name : {"CH1 (mV)", "CH1(mV)", "CH1 [mV]", "CH1_mV"}) {
        INFO(name);
        const std::string rows =
            "Time [s],CH2 (V)," + std::string(name) + "\n0,0,3300\n1e-9,0,12\n";
        CHECK(edges_of(volts(rows, "1.6 V", "CH1")) == "high 1 low; end 1");
        CHECK(edges_of(volts(rows, "1.6 V", name)) == "high 1 low; end 1");
    }
}

TEST_CASE("a second row of units belongs to the names", "[wave]") {
    CHECK(edges_of(volts("Source,CH1\nSecond,Volt\n-5.0E-09,3.28E+00\n-4.0E-09,1.2E-02\n",
                         "1.6 V")) == "high 1 low; end 1");
    CHECK(edges_of(volts("Source,CH1\nms,mV\n0,3280\n1,12\n", "1.6 V")) ==
          "high 1000000 low; end 1000000");
    CHECK(edges_of(volts("x-axis,1,2\nsecond,Volt,Volt\n0,0,3\n1e-9,0,0\n", "1.6 V", "2")) ==
          "high 1 low; end 1");
    CHECK(edges_of(volts("CH1,when\n(V),(us)\n3,0\n0,1\n", "1.6 V")) == "high 1000 low; end 1000");
    // Without a threshold the advice is the next thing that is said.
    CHECK(problems_of(table("Source,CH1\nSecond,Volt\n0,3.28\n1,0.01\n"))
              .starts_with("3:3: error: \"3.28\" looks like a voltage"));
}

TEST_CASE("what a threshold cannot use is told", "[wave]") {
    CHECK(
        problems_of(volts("t,b\n0,3.3\n1,high\n", "1.6 V")) ==
        "3:3: error: with a threshold a level is a voltage, as in \"3.28\" or \"12 mV\", and x, z, "
        "- or nothing where it is not known, not \"high\"\n");
    CHECK(problems_of(volts("t,b\n0,0\n1,1\n", "1.6 V")) ==
          "1:3: warning: \"b\" never crosses the threshold: it goes from 0 V to 1 V\n");
    for (const char* text :
         {"", "1.6", "1.6 A", "V", "2 V, 1 V", "1 V,", "1 V, 2 V, 3 V", "1e99 V"}) {
        INFO(text);
        CHECK_FALSE(parse_thresholds(text));
    }
    CHECK(parse_thresholds("1.6V")->low == 1'600'000'000);
    CHECK(parse_thresholds("800 mV, 2 V")->low == 800'000'000);
    CHECK(parse_thresholds("800 mV, 2 V")->high == 2'000'000'000);
}

TEST_CASE("equal levels are one, and of several rows at one time the last counts", "[wave]") {
    CHECK(edges_of(table("0,0\n1e-6,0\n2e-6,1\n2e-6,0\n3e-6,1\n4e-6,1\n")) ==
          "low 3000 high; end 4000");
}

TEST_CASE("a time that goes back or is too late is told with its place", "[wave]") {
    CHECK(problems_of(table("5,0\n4.5,1\n6,0\n5.25,1\n")) ==
          "2:1: error: the time goes back, by 500 ms (and 1 more like "
          "it)\n");
    CHECK(edges_of(table("0,0\n31622400,1\n")) ==
          "low 31622400000000000 high; end 31622400000000000");
    CHECK(problems_of(table("0,0\n31622400.000000001,1\n1,1\n"))
              .starts_with("2:1: error: this is more than 366 days after the first row"));
}

TEST_CASE("a time that stands still while the level changes is refused", "[wave]") {
    CHECK(
        problems_of(table("Time,b\n0,0\n0,1\n0,0\n")) ==
        "1:6: error: the level changes, but every row has the same time; export it with times or, "
        "by the sample rate, without\n");
    CHECK(edges_of(table("0,1\n")) == "high; end 0");
}

TEST_CASE("a table without rows, times or levels is refused", "[wave]") {
    const std::string no_rows =
        "1:1: error: the file has no rows: a row is a time and a level, as in \"0.25,1\"\n";
    CHECK(problems_of(table("")) == no_rows);
    CHECK(problems_of(table("; only\n\n")) == no_rows);
    CHECK(problems_of(table("t,b\n")) == "1:3: error: \"b\" is never low or high\n");
    CHECK(problems_of(table("t\n0\n")) ==
          "1:1: error: no column of levels beside the times; \"0.25,1\" has both\n");
    CHECK(problems_of(table("0\n1\n")) ==
          "1:1: error: no column of times, and no comment \"Samplerate: 1 MHz\" to make them of\n");
    CHECK(problems_of(table("o.5,1\n0.75,0\n")) ==
          "1:1: error: the first row is neither of names nor of a time and a level\n");
    CHECK(problems_of(table(std::string(5'000, ','))) ==
          "1:1: error: the first row has more than 1,000 fields; export only the button's\n");
}

TEST_CASE("the same slip in many rows is told once, where it is first", "[wave]") {
    // Times as ISO 8601 writes them, and one row of another kind.
    std::string text = "0,0\n";
    for (int i = 10; i < 60; ++i) {
        text += "2026-11-26T12:35:" + std::to_string(i) + ",1\n";
    }
    CHECK(problems_of(table(text + "2\n")) ==
          "2:1: error: a time is a number, or one with a unit of us, ms, s, min or h, up to 24 h, "
          "as in \"12.5 ms\", not \"2026-11-26T12:35:10\" (and 49 more like it)\n"
          "52:1: error: this row has 1 field, the first has 2\n");
    text = "0,0\n";
    for (int i = 0; i < 100'500; ++i) {
        text += "soon,1\n";
    }
    CHECK_THAT(problems_of(table(text)),
               Catch::Matchers::EndsWith("not \"soon\" (and at least 99,999 more like it)\n"));
}

TEST_CASE("a problem's text is printable whatever the file has", "[wave]") {
    CHECK(problems_of(table("0,0\n1,\x1b[2J\xff\n")).ends_with(" not \"\\u001B[2J\\xFF\"\n"));
}

TEST_CASE("sigrok's table without times goes by its sample rate", "[wave]") {
    const std::string text = "; CSV generated by libsigrok 0.5.2\n"
                             "; from Session-emulating driver on Thu Nov 26 12:35:47 2026\n"
                             "; Channels (2/2): 0, 1\n"
                             "; Samplerate: 3 MHz\n"
                             "logic,logic\n1,0\n1,0\n0,0\n1,1\n";
    const CaptureRead got = table(text, "0");
    CHECK(edges_of(got) == "high 667 low 1000 high; end 1000");
    CHECK(got.capture->signal == "0");
    CHECK(
        problems_of(table(text))
            .starts_with("5:7: error: several columns of levels: say which is the button's, as in "
                         "--signal 0: there are \"0\" and \"1\""));
    // With its option label=channel the names look like levels.
    std::string named = text;
    named.replace(named.find("logic,logic"), 11, "0,1");
    CHECK(edges_of(table(named, "1")) == "low 1000 high; end 1000");
    // And where it learns of the rate late it says so in a line of its own.
    CHECK(edges_of(table("; Channels (1/1): button\nMETA samplerate: 2500000\nlogic\n0\n1\n0\n")) ==
          "low 400 high 800 low; end 800");
}

TEST_CASE("sigrok's column of times counts whole samples, whatever its unit and its rounding",
          "[wave]") {
    // 3 MHz is 333.3 ns a sample, and the column counts 333: after 3,000 samples 1 us would be
    // lost. The first row is at 333.3, the second at 666.7, each rounded by itself.
    const std::string head = "; Channels (2/2): button, lamp\n; Samplerate: 3 MHz\n";
    const std::string rows = "333,0,0\n666,1,0\n999333,0,1\n";
    const std::string edges = "low 334 high 1000000 low; end 1000000";
    CHECK(edges_of(table(head + "nanoseconds,logic,logic\n" + rows, "button")) == edges);
    CHECK(edges_of(table(head + "Time,button,lamp\n" + rows, "button")) == edges);
    CHECK(edges_of(table(head + rows, "button")) == edges);  // its option label=off
    CHECK(edges_of(table(head + "Time,button,lamp,Trigger\n333,0,0,0\n666,1,0,1\n", "button")) ==
          "low 334 high; end 334");
    CHECK(edges_of(table("; Channels (1/1): b\n; Samplerate: 1 kHz\nTime,b\n1,0\n2,1\n")) ==
          "low 1000000 high; end 1000000");
    CHECK(edges_of(table("; Channels (1/1): b\n; Samplerate: 1 Hz\nsamples,logic\n1,0\n2,1\n")) ==
          "low 1000000000 high; end 1000000000");
}

TEST_CASE("one row's edge more than a capture may have is refused where it is", "[wave]") {
    CHECK(edges_of(read_csv("0,0\n1,1\n2,0\n", "", 2)) ==
          "low 1000000000 high 2000000000 low; end 2000000000");
    CHECK(problems_of(read_csv("0,0\n1,1\n2,0\n3,1\n", "", 2)).starts_with("4:1: error: more "));
    CHECK(problems_of(read_csv("0,0\n1,1\n2,0\n3,1\n4,1\n5,1\n", "", 2)) ==
          "5:1: error: more than 2 edges, which is a recording's most: cut it, or choose another "
          "signal\n");
}
