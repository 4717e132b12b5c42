// SPDX-License-Identifier: MIT
#include "bootfiles/config_txt.hpp"
#include "unit/audit/rule_cases.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using Catch::Matchers::StartsWith;

namespace {

using bootfiles::OverlayUse;

bootfiles::Intent intent_of(std::string_view text) {
    bootfiles::Intent intent = bootfiles::read_config_txt(
        "config.txt", text, {"raspberrypi,4-model-b", "brcm,bcm2711"}, [](std::string_view) {
            return std::nullopt;
        });
    for (bootfiles::OverlayUse& use : intent.overlays) {
        use.content.seen = bootfiles::FileSeen::there;
    }
    return intent;
}

/// The board's boot text, on a controller whose lines the text counts.
void set_text(Facts& facts, std::string_view text) {
    set_property(facts, gpio, "compatible", strings({"brcm,bcm2711-gpio"}));
    facts.boot = std::vector<bootfiles::Intent>{intent_of(text)};
}

/// What makes the good unit's post-halt node: line 6, active high, 200 ms.
constexpr std::string_view good_text = "[all]\n"
                                       "dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=200\n"
                                       "gpio=6=op,dl\n"
                                       "gpio=3=ip,pu\n";

void add_text(Facts& facts, std::string_view more) {
    set_text(facts, std::string(good_text) + std::string(more));
}

void add_remark(Facts& facts, bootfiles::RemarkKind kind, const char* text) {
    set_text(facts, good_text);
    known(facts.boot).front().remarks.push_back({kind, {"config.txt", 7}, text});
}

OverlayUse& first_overlay(Facts& facts) {
    return known(facts.boot).front().overlays.front();
}

/// An image's words alone: no tree, no chips, and [post_halt] as that family's people write it.
void without_tree(Facts& facts) {
    facts.source = Source::image;
    facts.tree = Known<devicetree::Tree>::missing("the tree (an image has none)");
    facts.chips = Known<std::vector<lines::Chip>>::missing("the chips");
    std::string text = good_config();
    const auto put = [&text](std::string_view from, std::string_view to) {
        for (std::size_t at = 0; (at = text.find(from)) != std::string::npos;) {
            text.replace(at, from.size(), to);
        }
    };
    put("\"soc-gpio\"", "\"pinctrl-bcm2711\"");
    put("\"SUPPLY_RELEASE\"", "\"6\"");
    put("\"LID_BUTTON\"", "\"GPIO3\"");
    put("\"BUZZER\"", "\"5\"");
    set_config(facts, text);
}

bootfiles::Intent extlinux(bootfiles::Certainty certainty, const char* condition) {
    bootfiles::Intent intent;
    intent.loader = bootfiles::Loader::extlinux;
    intent.file = "extlinux.conf";
    intent.overlays.push_back({"post-halt-line",
                               "/boot/post-halt-line.dtbo",
                               {"extlinux.conf", 9},
                               certainty,
                               condition,
                               {}});
    intent.overlays.back().content = {
        bootfiles::FileSeen::there, "/boot/post-halt-line.dtbo", bootfiles::PostHaltSeen{}};
    return intent;
}

}  // namespace

// A table, and no shorter in parts. NOLINTNEXTLINE(readability-function-size)
std::vector<BadCase> audit::test::boot_bad_cases() {
    using bootfiles::RemarkKind;
    return {
        {"boot-differs",
         Severity::warning,
         "configured but not booted yet",
         [](Facts& facts) {
             set_text(facts, good_text);
             remove_node(facts, post_halt_node);
         }},
        {"boot-differs",
         Severity::warning,
         "not as the text asks for",
         [](Facts& facts) {
             set_text(facts, "dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=300\n");
         }},
        {"boot-section",
         Severity::warning,
         "not for this board",
         [](Facts& facts) {
             set_text(facts, "[pi5]\ndtoverlay=gpio-poweroff,gpiopin=6\n");
             remove_node(facts, post_halt_node);
         }},
        {"boot-section",
         Severity::warning,
         "depends on [gpio4=1]",
         [](Facts& facts) {
             set_text(facts, "[gpio4=1]\ndtoverlay=gpio-poweroff,gpiopin=6\n");
             remove_node(facts, post_halt_node);
         }},
        {"boot-section",
         Severity::note,
         "another boot may come up without it",
         [](Facts& facts) { set_text(facts, "[gpio4=1]\ndtoverlay=gpio-poweroff,gpiopin=6\n"); }},
        {"boot-cut",
         Severity::warning,
         "longer than 98 characters",
         [](Facts& facts) {
             add_text(facts, "dtoverlay=tide-screen,caption=" + std::string(80, 'x') + "\n");
         }},
        {"boot-parameter",
         Severity::warning,
         "gpio_pin",
         [](Facts& facts) { add_text(facts, "dtoverlay=gpio-led,gpio=7,gpio_pin=7\n"); }},
        {"boot-parameter",
         Severity::warning,
         "no such overlay",
         [](Facts& facts) { add_remark(facts, RemarkKind::unknown_overlay, "no such overlay"); }},
        {"boot-malformed",
         Severity::warning,
         "ignored",
         [](Facts& facts) { add_remark(facts, RemarkKind::malformed, "the line is ignored"); }},
        {"boot-malformed",
         Severity::warning,
         "not there",
         [](Facts& facts) { add_remark(facts, RemarkKind::not_found, "extra.txt is not there"); }},
        {"boot-malformed",
         Severity::warning,
         "too deep",
         [](Facts& facts) { add_remark(facts, RemarkKind::too_deep, "includes go too deep"); }},
        {"boot-malformed",
         Severity::warning,
         "too long",
         [](Facts& facts) { add_remark(facts, RemarkKind::too_long, "the file is too long"); }},
        {"boot-malformed",
         Severity::note,
         "stands twice",
         [](Facts& facts) { add_remark(facts, RemarkKind::repeated, "overlays stands twice"); }},
        {"boot-key-overlay",
         Severity::error,
         "gpio-shutdown takes the button's line:",
         [](Facts& facts) { add_text(facts, "dtoverlay=gpio-shutdown\n"); }},
        {"boot-key-overlay",
         Severity::error,
         "gpio-led takes the post-halt line and drives it",
         [](Facts& facts) { add_text(facts, "dtoverlay=gpio-led,gpio=6\n"); }},
        {"boot-key-overlay",
         Severity::warning,
         "gpio-key, if [gpio5=0]",
         [](Facts& facts) { add_text(facts, "[gpio5=0]\ndtoverlay=gpio-key,gpio=3\n"); }},
        {"boot-early-line",
         Severity::error,
         "drives the post-halt line active",
         [](Facts& facts) { add_text(facts, "gpio=6=op,dh\n"); }},
        {"boot-early-line",
         Severity::warning,
         "pulls the post-halt line to its active level",
         [](Facts& facts) { add_text(facts, "gpio=6=ip,pu\n"); }},
        {"boot-early-line",
         Severity::warning,
         "does not say at which level",
         [](Facts& facts) { add_text(facts, "gpio=6=op\n"); }},
        {"boot-early-line",
         Severity::error,
         "button's line an output",
         [](Facts& facts) { add_text(facts, "gpio=3=op,dh\n"); }},
        {"boot-asks",
         Severity::warning,
         "nothing in this image asks for a post-halt line",
         [](Facts& facts) {
             set_text(facts, "# the pontoon's own\n");
             without_tree(facts);
         }},
        {"boot-line",
         Severity::error,
         "the text asks for line 7, and [post_halt] is line 6",
         [](Facts& facts) {
             set_text(facts, "dtoverlay=gpio-poweroff,gpiopin=7,active_delay_ms=200\n");
             without_tree(facts);
         }},
        {"boot-line",
         Severity::error,
         "the text asks for active low, and [post_halt] is active high",
         [](Facts& facts) {
             set_text(facts, "dtoverlay=gpio-poweroff,gpiopin=6,active_low\n");
             without_tree(facts);
         }},
        {"boot-line",
         Severity::warning,
         "a first pulse of 60 ms, and the circuit needs 100 ms",
         [](Facts& facts) {
             set_text(facts, "dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=60\n");
             without_tree(facts);
         }},
        {"boot-line",
         Severity::error,
         "the overlay drives line 9, and [post_halt] is line 6",
         [](Facts& facts) {
             facts.boot = std::vector<bootfiles::Intent>{extlinux(bootfiles::Certainty::yes, "")};
             first_overlay(facts).content.post_halt = {"halt", 9, false, 200};
         }},
        {"boot-overlay-file",
         Severity::error,
         "the overlay gpio-poweroff is not there",
         [](Facts& facts) {
             set_text(facts, good_text);
             first_overlay(facts).content = {bootfiles::FileSeen::missing, "overlays/x.dtbo", {}};
         }},
        {"boot-overlay-file",
         Severity::note,
         "the overlay tide-screen is not there",
         [](Facts& facts) {
             add_text(facts, "dtoverlay=tide-screen\n");
             known(facts.boot).front().overlays.back().content.seen = bootfiles::FileSeen::missing;
         }},
        {"boot-repeated",
         Severity::warning,
         "the last, config.txt:2, holds, so that the post-halt line is line 6, active high",
         [](Facts& facts) {
             set_text(facts,
                      "dtoverlay=gpio-poweroff,gpiopin=7,active_low,active_delay_ms=200\n"
                      "dtoverlay=gpio-poweroff,gpiopin=6\n");
         }},
        {"boot-lasts",
         Severity::warning,
         "a program writes config.txt anew",
         [](Facts& facts) {
             set_text(facts, good_text);
             known(facts.boot).front().writer = bootfiles::Writer::raspi_firmware;
             first_overlay(facts).lasts = false;
         }},
    };
}

TEST_CASE("a boot text that says what the tree has passes every rule", "[audit]") {
    Facts facts = good_unit();
    set_text(facts, good_text);
    for (const RuleResult& result : judged(boot_rules(), facts)) {
        INFO(result.rule->id);
        CHECK_THAT(outcome(result.judgement),
                   StartsWith(result.rule->id == "boot-asks" ? "not applicable: " : "pass: "));
    }
}

TEST_CASE("without a tree the words of the text and of the configuration are compared", "[audit]") {
    Facts facts = good_unit();
    set_text(facts, good_text);
    without_tree(facts);
    for (const char* const id : {"boot-asks", "boot-line", "boot-key-overlay", "boot-early-line"}) {
        INFO(id);
        CHECK_THAT(outcome(of(id, facts)), StartsWith("pass: "));
    }
    facts = good_unit();
    add_text(facts, "dtoverlay=gpio-shutdown,gpio_pin=3\ngpio=6=op,dh\n");
    without_tree(facts);
    CHECK_THAT(outcome(of("boot-key-overlay", facts)),
               ContainsSubstring("takes the button's line"));
    CHECK_THAT(outcome(of("boot-early-line", facts)), ContainsSubstring("post-halt line active"));
    // Words that could mean another chip's lines mean nothing here.
    edit_config(
        facts, "chip = \"soc-gpio\"\nline = \"SUPPLY_RELEASE\"", "chip = \"x\"\nline = \"6\"");
    CHECK_THAT(outcome(of("boot-line", facts)), StartsWith("cannot tell: which of the text's"));
}

TEST_CASE("an overlay that cannot be looked into is not taken for one without the node",
          "[audit]") {
    Facts facts = good_unit();
    set_text(facts, "dtoverlay=tide-screen\n");
    without_tree(facts);
    first_overlay(facts).content.seen = bootfiles::FileSeen::not_looked;
    CHECK_THAT(outcome(of("boot-asks", facts)), StartsWith("cannot tell: whether the overlay"));
    CHECK_THAT(outcome(of("boot-overlay-file", facts)), StartsWith("cannot tell: whether the"));
    first_overlay(facts).content = {
        bootfiles::FileSeen::there, "overlays/tide-screen.dtbo", bootfiles::PostHaltSeen{"off", 6}};
    CHECK_THAT(outcome(of("boot-asks", facts)), StartsWith("pass: "));
}

TEST_CASE("of two lines for one node the last is what the tree is compared with", "[audit]") {
    Facts facts = good_unit();
    set_text(facts,
             "dtoverlay=gpio-poweroff,gpiopin=7,active_low,active_delay_ms=200\n"
             "dtoverlay=gpio-poweroff,gpiopin=6\n");
    CHECK_THAT(outcome(of("boot-differs", facts)), StartsWith("pass: "));
    set_text(facts,
             "dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=200\ndtoverlay=gpio-poweroff\n");
    CHECK_THAT(outcome(of("boot-differs", facts)), ContainsSubstring("not as the text asks for"));
}

TEST_CASE("each thing wrong with a boot text is found by its rule alone", "[audit]") {
    check_bad_cases(boot_rules(), boot_bad_cases());
}

TEST_CASE("without a boot text there is nothing to judge; one that is unknown is not none",
          "[audit]") {
    for (const RuleResult& result : judged(boot_rules(), good_unit())) {
        INFO(result.rule->id);
        CHECK_THAT(outcome(result.judgement), StartsWith("not applicable: "));
    }
    Facts unknown;
    unknown.source = Source::image;
    for (const RuleResult& result : judged(boot_rules(), unknown)) {
        INFO(result.rule->id);
        CHECK_THAT(outcome(result.judgement), StartsWith("cannot tell: "));
    }
}

TEST_CASE("every parameter of the post-halt overlay is compared with the tree", "[audit]") {
    const struct {
        std::string_view parameters;
        std::string_view difference;
    } cases[]{
        {"gpiopin=5,active_delay_ms=200", "line: 5 in the text, 6 in the tree"},
        {"active_delay_ms=200", "line: 26 in the text, 6 in the tree"},
        {"gpiopin=6,active_delay_ms=200,active_low", "active low: 1 in the text, 0 in the tree"},
        {"gpiopin=6,active_delay_ms=200,active_low=y", "active low: 1 in the text, 0 in the tree"},
        {"gpiopin=6,active_delay_ms=200,input", "input: 1 in the text, 0 in the tree"},
        {"gpiopin=6", "active delay in ms: 100 in the text, 200 in the tree"},
        {"gpiopin=6,active_delay_ms=200,inactive_delay_ms=0x10",
         "inactive delay in ms: 16 in the text, 100 in the tree"},
        {"gpiopin=6,active_delay_ms=200,timeout_ms=9000",
         "time-out in ms: 9000 in the text, 3000 in the tree"},
    };

    for (const auto& one : cases) {
        INFO(one.parameters);
        Facts facts = good_unit();
        set_text(facts, "dtoverlay=gpio-poweroff," + std::string(one.parameters) + "\n");
        const auto findings = findings_in(of("boot-differs", facts));
        REQUIRE(findings.size() == 1);
        CHECK(findings[0].place == "config.txt:1");
        REQUIRE(findings[0].evidence.size() == 3);
        CHECK_THAT(findings[0].evidence[2], Equals(std::string(one.difference)));
    }
}

TEST_CASE("parameters that change nothing are no difference, and the last of a name holds",
          "[audit]") {
    Facts facts = good_unit();
    set_text(facts,
             "dtoverlay=gpio-poweroff,gpiopin=5,active_low=off,export\n"
             "dtparam=gpiopin=6\n"
             "dtparam=active_delay_ms=200\n");
    CHECK_THAT(outcome(of("boot-differs", facts)), StartsWith("pass: "));
}

TEST_CASE("a parameter that is not a number, or that depends, cannot be compared", "[audit]") {
    Facts facts = good_unit();
    set_text(facts, "dtoverlay=gpio-poweroff,gpiopin=six\n");
    CHECK_THAT(outcome(of("boot-differs", facts)), StartsWith("cannot tell: what \"gpiopin=six\""));
    set_text(facts, "dtoverlay=gpio-poweroff,gpiopin\n");
    CHECK_THAT(outcome(of("boot-differs", facts)), StartsWith("cannot tell: "));
    set_text(facts, good_text);
    known(facts.boot)[0].overlays[0].parameters[0].certainty = bootfiles::Certainty::depends;
    CHECK_THAT(outcome(of("boot-differs", facts)), StartsWith("cannot tell: whether gpiopin"));
}

TEST_CASE("numbers of the text mean nothing on another family's controller", "[audit]") {
    Facts facts = good_unit();
    facts.boot = std::vector<bootfiles::Intent>{
        intent_of("dtoverlay=gpio-poweroff,gpiopin=6\ndtoverlay=gpio-key\ngpio=6=op,dh\n")};
    for (const char* const id : {"boot-differs", "boot-key-overlay", "boot-early-line"}) {
        CHECK_THAT(outcome(of(id, facts)), StartsWith("cannot tell: "));
    }
}

TEST_CASE("a line of an expander is none that the text can mean", "[audit]") {
    Facts facts = good_unit();
    edit_config(facts,
                "chip = \"soc-gpio\"\nline = \"LID_BUTTON\"",
                "chip = \"float-expander\"\nline = \"3\"");
    add_text(facts, "dtoverlay=gpio-shutdown\ngpio=3=op,dh\n");
    CHECK_THAT(outcome(of("boot-key-overlay", facts)), StartsWith("pass: "));
    CHECK_THAT(outcome(of("boot-early-line", facts)), StartsWith("pass: "));
}

TEST_CASE("an overlay of our own by name needs no parameters", "[audit]") {
    Facts facts = good_unit();
    facts.boot = std::vector<bootfiles::Intent>{extlinux(bootfiles::Certainty::yes, "")};
    CHECK_THAT(outcome(of("boot-differs", facts)), StartsWith("pass: "));
    CHECK_THAT(outcome(of("boot-section", facts)), StartsWith("pass: "));
    remove_node(facts, post_halt_node);
    const auto findings = findings_in(of("boot-differs", facts));
    REQUIRE(findings.size() == 1);
    CHECK_THAT(findings[0].remedy, ContainsSubstring("/boot/post-halt-line.dtbo"));
    facts.boot = std::vector<bootfiles::Intent>{
        extlinux(bootfiles::Certainty::depends, "the label \"spare\" being chosen")};
    CHECK_THAT(outcome(of("boot-section", facts)), ContainsSubstring("label \"spare\""));
}

TEST_CASE("a text of an image without a tree cannot be compared", "[audit]") {
    Facts facts = good_unit();
    set_text(facts, good_text);
    facts.tree = Known<devicetree::Tree>::missing("the tree (an image has none)");
    CHECK(outcome(of("boot-differs", facts)) == "cannot tell: the tree (an image has none)");
}

TEST_CASE("a section for another model is not a finding where one for this board stands too",
          "[audit]") {
    Facts facts = good_unit();
    set_text(facts,
             "[pi5]\ndtoverlay=gpio-poweroff,gpiopin=9\n[pi4]\n"
             "dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=200\n");
    CHECK_THAT(outcome(of("boot-section", facts)), StartsWith("pass: config.txt:4"));
    CHECK_THAT(outcome(of("boot-differs", facts)), StartsWith("pass: "));
}

TEST_CASE("overlays on other lines, in other sections, or other overlays are no finding",
          "[audit]") {
    Facts facts = good_unit();
    add_text(facts,
             "dtoverlay=gpio-key,gpio=7\ndtoverlay=gpio-fan,gpiopin=18\ndtoverlay=gpio-hog\n"
             "dtoverlay=unheard-of,gpio=3\n[pi5]\ndtoverlay=gpio-shutdown\n");
    CHECK_THAT(outcome(of("boot-key-overlay", facts)), StartsWith("pass: "));
}

TEST_CASE("each overlay that takes a line is found on it, by its own parameter", "[audit]") {
    for (const char* const line : {"gpio-shutdown,gpio_pin=3",
                                   "gpio-key,gpio=3",
                                   "gpio-led,gpio=3",
                                   "gpio-fan,gpiopin=3",
                                   "gpio-hog,gpio=3",
                                   "w1-gpio,gpiopin=3",
                                   "gpio-poweroff,gpiopin=3"}) {
        INFO(line);
        Facts facts = good_unit();
        set_text(facts, "dtoverlay=" + std::string(line) + "\n");
        CHECK(findings_in(of("boot-key-overlay", facts)).size() == 1);
    }
}

TEST_CASE("a line that an overlay takes on a condition only is a warning", "[audit]") {
    Facts facts = good_unit();
    add_text(facts, "dtoverlay=gpio-key,gpio=7\n[gpio9=1]\ndtparam=gpio=3\n");
    const auto findings = findings_in(of("boot-key-overlay", facts));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].severity == Severity::warning);
}

TEST_CASE("without [post_halt] the tree's own line counts, with its polarity", "[audit]") {
    Facts facts = good_unit();
    std::string text = good_config();
    text.erase(text.find("[post_halt]"), text.find("[[feedback]]") - text.find("[post_halt]"));
    set_config(facts, text);
    add_text(facts, "dtoverlay=gpio-led,gpio=6\ngpio=6=op,dh\n");
    CHECK(findings_in(of("boot-key-overlay", facts)).size() == 1);
    CHECK(findings_in(of("boot-early-line", facts)).size() == 1);
    set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, post_halt_line, 1}));
    CHECK_THAT(outcome(of("boot-early-line", facts)), StartsWith("pass: "));
}

TEST_CASE("an active-low post-halt line is judged the other way round", "[audit]") {
    Facts facts = good_unit();
    edit_config(facts, "active = \"high\"", "active = \"low\"");
    set_text(facts, "gpio=6=op,dh\n");
    CHECK_THAT(outcome(of("boot-early-line", facts)), StartsWith("pass: "));
    set_text(facts, "gpio=6=op,dl\n");
    CHECK(findings_in(of("boot-early-line", facts)).size() == 1);
    set_text(facts, "gpio=6=ip,pd\n");
    CHECK(findings_in(of("boot-early-line", facts)).size() == 1);
}

TEST_CASE("an alarm's line and a feedback line are looked for as the button's is", "[audit]") {
    Facts facts = good_unit();
    set_config(facts, good_config() + R"([[alarm]]
name = "battery low"
chip = "soc-gpio"
line = "SPARE"
active = "low"
)");
    add_text(facts, "dtoverlay=w1-gpio,gpiopin=7\ngpio=7=op,dl\n");
    for (const char* const id : {"boot-key-overlay", "boot-early-line"}) {
        INFO(id);
        const auto findings = findings_in(of(id, facts));
        REQUIRE(findings.size() == 1);
        CHECK_THAT(findings[0].sentence,
                   ContainsSubstring("the line of the alarm \"battery low\""));
    }
    add_text(facts, "dtoverlay=gpio-fan,gpiopin=5\ngpio=5=op,dl\n");  // the buzzer
    const auto taken = findings_in(of("boot-key-overlay", facts));
    REQUIRE(taken.size() == 1);
    CHECK_THAT(taken[0].sentence, ContainsSubstring("that line shows no cue"));
    CHECK_THAT(outcome(of("boot-early-line", facts)), StartsWith("pass: "));
}

TEST_CASE("a later gpio= line for the same line replaces the earlier one", "[audit]") {
    Facts facts = good_unit();
    set_text(facts, "gpio=6=op,dh\ngpio=6=op,dl\n");
    CHECK_THAT(outcome(of("boot-early-line", facts)), StartsWith("pass: "));
    set_text(facts, "gpio=6=op,dh\n[gpio9=1]\ngpio=6=op,dl\n");
    CHECK(findings_in(of("boot-early-line", facts)).size() == 1);
}
