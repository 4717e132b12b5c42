// SPDX-License-Identifier: MIT
// Conditional filters [raspberrypi/documentation, config_txt/conditional.adoc].
#include "bootfiles/sections.hpp"
#include "intents.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;
using test::config_txt;
using test::overlays_of;
using test::remarks_of;

namespace {

/// Whether an overlay after these sections applies, and why not: "no [none] (it never applies)".
std::string after(std::string_view sections, const std::vector<std::string>& compatible) {
    std::string text;
    for (std::size_t at = 0; at < sections.size();) {
        const std::size_t end = sections.find(']', at) + 1;
        text += std::string(sections.substr(at, end - at)) + '\n';
        at = end;
    }
    const Intent intent = config_txt(text + "dtoverlay=x\n", compatible);
    REQUIRE(intent.overlays.size() == 1);
    return std::string(test::text_of(intent.overlays[0].certainty)) +
           (intent.overlays[0].condition.empty() ? "" : " ") + intent.overlays[0].condition;
}

std::string after(std::string_view sections) {
    return after(sections, test::fourth_model);
}

}  // namespace

TEST_CASE("each model sees the sections that the published table gives it", "[bootfiles]") {
    // The table "Filter | Applicable model(s)" with its "also sees" notes.
    struct Row {
        const char* compatible;
        const char* sees;  ///< yes
        const char* may;   ///< depends
    };

    for (const Row& row : {
             Row{"raspberrypi,model-b", "pi1", ""},
             Row{"raspberrypi,model-a-plus", "pi1", ""},
             Row{"raspberrypi,compute-module", "pi1", "cm1"},
             Row{"raspberrypi,2-model-b", "pi2", ""},
             Row{"raspberrypi,3-model-b", "pi3", ""},
             Row{"raspberrypi,3-model-b-plus", "pi3 pi3+", ""},
             Row{"raspberrypi,3-model-a-plus", "pi3 pi3+", ""},
             Row{"raspberrypi,3-compute-module", "pi3", "pi3+ cm3 cm3+"},
             Row{"raspberrypi,4-model-b", "pi4", ""},
             Row{"raspberrypi,400", "pi4 pi400", ""},
             Row{"raspberrypi,4-compute-module", "pi4 cm4", ""},
             Row{"raspberrypi,4-compute-module-s", "pi4 cm4s", ""},
             Row{"raspberrypi,5-model-b", "pi5", ""},
             Row{"raspberrypi,500", "pi5 pi500", ""},
             Row{"raspberrypi,5-compute-module", "pi5 cm5", ""},
             Row{"raspberrypi,5-compute-module-lite", "pi5 cm5", ""},
             Row{"raspberrypi,model-zero", "pi0", ""},
             Row{"raspberrypi,model-zero-w", "pi0 pi0w", ""},
             Row{"raspberrypi,model-zero-2-w", "pi0 pi0w pi02", "cm0"},
         }) {
        std::string sees;
        std::string may;
        for (const char* const filter : {"pi0",
                                         "pi0w",
                                         "pi02",
                                         "pi1",
                                         "pi2",
                                         "pi3",
                                         "pi3+",
                                         "pi4",
                                         "pi400",
                                         "pi5",
                                         "pi500",
                                         "cm0",
                                         "cm1",
                                         "cm3",
                                         "cm3+",
                                         "cm4",
                                         "cm4s",
                                         "cm5"}) {
            const auto holds = model_filter(filter, {row.compatible, "brcm,bcm2711"});
            REQUIRE(holds);
            std::string& list = *holds == Certainty::yes ? sees : may;
            if (*holds != Certainty::no) {
                list += (list.empty() ? "" : " ") + std::string(filter);
            }
        }
        INFO(row.compatible);
        CHECK(sees == row.sees);
        CHECK(may == row.may);
    }
}

TEST_CASE("a board that the table does not know leaves every model's section open", "[bootfiles]") {
    CHECK(model_filter("pi4", {}) == Certainty::depends);
    CHECK(model_filter("pi4", {"raspberrypi,6-model-b"}) == Certainty::depends);
    CHECK(model_filter("pi4", {"linux,dummy-virt"}) == Certainty::depends);
    CHECK(model_filter("pi4", {"harbour,tide-gauge", "raspberrypi,4-compute-module"}) ==
          Certainty::yes);
    CHECK_FALSE(model_filter("pi6", test::fourth_model));
    CHECK_FALSE(model_filter("", test::fourth_model));
}

TEST_CASE("one section applies, does not, or depends", "[bootfiles]") {
    CHECK(after("") == "yes");
    CHECK(after("[all]") == "yes");
    CHECK(after("[pi4]") == "yes");
    CHECK(after("[pi5]") == "no [pi5] (another model)");
    CHECK(after("[pi4]", {}) == "depends [pi4] (which model the board is)");
    CHECK(after("[none]") == "no [none] (it never applies)");
    CHECK(after("[gpio4=1]") == "depends [gpio4=1] (the level at boot)");
    CHECK(after("[EDID=VSC-TD2220]") ==
          "depends [EDID=VSC-TD2220] (which display is connected at boot)");
    CHECK(after("[HDMI:1]") == "depends [HDMI:1] (the display port)");
    CHECK(after("[0x12345678]") == "depends [0x12345678] (the board's serial number)");
    CHECK(after("[tryboot]") == "depends [tryboot] (whether this boot is a trial)");
    CHECK(after("[board-type=0x14]") == "depends [board-type=0x14] (the board's type number)");
}

TEST_CASE("expression filters depend on what the boot loader holds", "[bootfiles]") {
    // The expression filter's five forms and its variables.
    for (const std::string filter : {"[partition=2]",
                                     "[boot_partition=2]",
                                     "[boot_count>3]",
                                     "[boot_count<3]",
                                     "[boot_arg1&0x10]",
                                     "[bootvar0&0x10=0x10]",
                                     "[cust_otp3=1]"}) {
        CHECK(after(filter) == "depends " + filter + " (a variable of the boot loader)");
    }
}

TEST_CASE("a section that nobody documents depends", "[bootfiles]") {
    for (const std::string filter : {"[pi6]",
                                     "[PI4]",
                                     "[All]",
                                     "[gpio=1]",
                                     "[gpiox=1]",
                                     "[boot_count]",
                                     "[partition]",
                                     "[cust_otp=1]",
                                     "[ all ]",
                                     "[]"}) {
        CHECK(after(filter) == "depends " + filter + " (a section that is not known here)");
    }
}

TEST_CASE("filters of one kind replace each other", "[bootfiles]") {
    // "Filters of the same type replace each other, so [pi2] overrides [pi1]".
    CHECK(after("[pi5][pi4]") == "yes");
    CHECK(after("[pi4][pi5]") == "no [pi5] (another model)");
    CHECK(after("[pi5][board-type=0x11]") == "depends [board-type=0x11] (the board's type number)");
    // raspberrypi/firmware, issue 1569: levels of different lines are one kind.
    CHECK(after("[gpio4=1][gpio5=0]") == "depends [gpio5=0] (the level at boot)");
    CHECK(after("[EDID=A][EDID=B]") == "depends [EDID=B] (which display is connected at boot)");
    CHECK(after("[boot_count>3][partition=2]") ==
          "depends [partition=2] (a variable of the boot loader)");
}

TEST_CASE("filters of different kinds must all hold", "[bootfiles]") {
    // "Filters of different types can be combined simply by listing them one after the other".
    CHECK(after("[EDID=VSC-TD2220][pi4]") ==
          "depends [EDID=VSC-TD2220] (which display is connected at boot)");
    CHECK(after("[EDID=VSC-TD2220][pi2]") == "no [pi2] (another model)");
    CHECK(after("[pi4][gpio4=1][tryboot]") ==
          "depends [gpio4=1] (the level at boot) and [tryboot] (whether this boot is a trial)");
}

TEST_CASE("the section for all boards drops every filter", "[bootfiles]") {
    // "It resets all previously set filters".
    CHECK(after("[pi5][gpio4=1][none][all]") == "yes");
}

TEST_CASE("whether a filter ends the section for no board is left open", "[bootfiles]") {
    CHECK(after("[none][pi4]") == "depends [none] (whether the section after it ends it)");
    CHECK(after("[none][pi5]") == "no [pi5] (another model)");
    CHECK(after("[none][pi4][none]") == "no [none] (it never applies)");
}

TEST_CASE("a section line with more on it is named, and depends", "[bootfiles]") {
    CHECK(overlays_of(config_txt("[pi4] # ours\ndtoverlay=x\n")) == "2 yes x\n");
    const Intent two = config_txt("[pi5][gpio4=0]\ndtoverlay=x\n");
    CHECK(overlays_of(two) == "2 depends x [pi5][gpio4=0]] (a section that is not known here)\n");
    CHECK(remarks_of(two) ==
          "1 malformed: \"[pi5][gpio4=0]\": a section is a line of its own, as in [all]\n");
    CHECK(remarks_of(config_txt("[pi5\n")) ==
          "1 malformed: \"[pi5\": a section is a line of its own, as in [all]\n");
}
