// SPDX-License-Identifier: MIT
// The gpio directive [raspberrypi/documentation, config_txt/gpio.adoc].
#include "intents.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;
using test::config_txt;
using test::remarks_of;

namespace {

std::string_view text_of(EarlyLine::Pull pull) {
    switch (pull) {
    case EarlyLine::Pull::unstated:
        return "";
    case EarlyLine::Pull::up:
        return " up";
    case EarlyLine::Pull::down:
        return " down";
    case EarlyLine::Pull::none:
        return " none";
    }
    return "";
}

std::string_view text_of(EarlyLine::Drive drive) {
    switch (drive) {
    case EarlyLine::Drive::unstated:
        return "";
    case EarlyLine::Drive::low:
        return " low";
    case EarlyLine::Drive::high:
        return " high";
    }
    return "";
}

/// "17 out low up", a line each.
std::string lines_of(const Intent& intent) {
    std::string all;
    for (const EarlyLine& one : intent.early_lines) {
        all += std::to_string(one.line) + (one.output ? " out" : "") + (one.input ? " in" : "");
        all += text_of(one.drive);
        all += text_of(one.pull);
        all += (one.condition.empty() ? "" : " ") + one.condition + '\n';
    }
    return all;
}

}  // namespace

TEST_CASE("lines are set one by one, in ranges and in lists", "[bootfiles]") {
    struct Case {
        const char* text;
        const char* lines;
    };

    for (const Case& one : {
             // The page's own examples.
             Case{"gpio=12=op,dh\n", "12 out high\n"},
             Case{"gpio=18,20=pu\n", "18 up\n20 up\n"},
             Case{"gpio=17-21=ip\n", "17 in\n18 in\n19 in\n20 in\n21 in\n"},
             Case{"gpio=0-2=a2\n", "0\n1\n2\n"},
             Case{"gpio=3-4,6,8=pd\n", "3 down\n4 down\n6 down\n8 down\n"},
             Case{"gpio=5=pn\ngpio=6=np\n", "5 none\n6 none\n"},
             Case{"gpio=26=op,dl\n", "26 out low\n"},
             // Later ones come later, and override by line what they name.
             Case{"gpio=5=op,dl\ngpio=5=pu\n", "5 out low\n5 up\n"},
             Case{"gpio=5=op,ip\n", "5 in\n"},
             Case{"gpio=5=ip,a3\n", "5\n"},
         }) {
        INFO(one.text);
        const Intent intent = config_txt(one.text);
        CHECK(lines_of(intent) == one.lines);
        CHECK(remarks_of(intent).empty());
    }
}

TEST_CASE("lines respect the sections", "[bootfiles]") {
    // "The gpio directive respects the [...] conditional filters".
    CHECK(lines_of(config_txt("[gpio4=1]\ngpio=5=op\n[pi5]\ngpio=6=ip\n")) ==
          "5 out [gpio4=1] (the level at boot)\n6 in [pi5] (another model)\n");
}

TEST_CASE("a line's state has its place", "[bootfiles]") {
    const Intent intent = config_txt("\n\ngpio=5=op\n");
    REQUIRE(intent.early_lines.size() == 1);
    CHECK(intent.early_lines[0].place.line == 3);
}

TEST_CASE("a gpio line that makes no sense is named", "[bootfiles]") {
    struct Case {
        const char* text;
        const char* lines;
        const char* remark;
    };

    for (const Case& one : {
             Case{"gpio=17",
                  "",
                  "gpio: it needs lines, another \"=\" and options, as in "
                  "gpio=17=op,dl"},
             Case{"gpio==op", "", "gpio: \"\" is neither a line nor a range of lines"},
             Case{"gpio=4,x=op", "", "gpio: \"x\" is neither a line nor a range of lines"},
             Case{"gpio=5-3=op", "", "gpio: \"5-3\" is neither a line nor a range of lines"},
             Case{"gpio=0-4294967295=op",
                  "",
                  "gpio: \"0-4294967295\" is neither a line nor a range of "
                  "lines"},
             Case{"gpio=99999999999=op",
                  "",
                  "gpio: \"99999999999\" is neither a line nor a range of "
                  "lines"},
             Case{"gpio=-1=op", "", "gpio: \"-1\" is neither a line nor a range of lines"},
             Case{"gpio=4=op,low",
                  "4 out\n",
                  "gpio: \"low\" is none of ip, op, a0 to a5, dh, dl, "
                  "pu, pd, pn"},
         }) {
        INFO(one.text);
        const Intent intent = config_txt(one.text);
        CHECK(lines_of(intent) == one.lines);
        REQUIRE(intent.remarks.size() == 1);
        CHECK(intent.remarks[0].kind == RemarkKind::malformed);
        CHECK(intent.remarks[0].text == one.remark);
    }
}
