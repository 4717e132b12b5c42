// SPDX-License-Identifier: MIT
#include "audit/needed_pulse.hpp"
#include "base/duration_text.hpp"
#include "circuit/corners.hpp"
#include "unit/audit/rule_cases.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

void set_cell(Facts& facts, std::string_view name, std::uint32_t value) {
    set_property(facts, post_halt_node, name, cells({value}));
}

/// The logger's supply circuit, with another hold capacitor.
std::string logger_parts(const std::string& hold_capacitor) {
    return R"([circuit]
supply_voltage = "4.9 V, 5.1 V, 5.25 V"
load_current = "0.3 A, 0.9 A"
halt_current = "150 mA, 400 mA"
rail_capacitance = "500 uF +-20 %"
cut_out = "3.0 V, 3.4 V"
rail_bleeder = "220 ohm"
line_high = "3.3 V +-5 %"
series_resistor = "270 ohm"
diode = "BAT54"
bleed_resistor = "150 k"
release_transistor = "BSS138"
latch_transistor = "BSS138"
feed_resistor = "22 k"
gate_pull = "47 k"
main_switch = "AO3401A"
hold_capacitor = ")" +
           hold_capacitor + "\"\n";
}

void put_on(Facts& facts, std::uint32_t phandle, std::uint32_t line, std::uint32_t flags) {
    set_property(facts, post_halt_node, "gpios", cells({phandle, line, flags}));
}

void unbind(Facts& facts) {
    known(facts.driver.bound).clear();
    soc_line(facts, post_halt_line).used = false;
}

void set_kernel(Facts& facts, unsigned major, unsigned minor) {
    facts.kernel = KernelVersion{
        major, minor, std::to_string(major) + "." + std::to_string(minor) + ".1-pontoon"};
}

void add_second_node(Facts& facts) {
    add_node(facts,
             "/second-release",
             {{"compatible", strings({"gpio-poweroff"})}, {"gpios", cells({gpio_phandle, 7, 0})}});
}

void add_power_chip(Facts& facts, const char* compatible) {
    const std::string path = "/soc/i2c@9040000/pmic@34";
    add_node(facts, path, {{"compatible", strings({compatible})}, {"system-power-controller", ""}});
    known(facts.power_off.bound).push_back({path, "pmic-i2c", "pmic_i2c", "drivers/mfd", ""});
}

/// A board whose lines 0 to 8 are pulled up and 9 to 27 down at power-on.
void know_the_pulls(Facts& facts) {
    set_property(facts, gpio, "compatible", strings({"brcm,bcm2711-gpio"}));
}

std::vector<BadCase> node_cases() {
    return {
        {"post-halt-node",
         Severity::error,
         "no gpio-poweroff node",
         [](Facts& facts) { remove_node(facts, post_halt_node); }},
        {"post-halt-enabled",
         Severity::error,
         "is disabled",
         [](Facts& facts) {
             set_property(facts, post_halt_node, "status", strings({"disabled"}));
         }},
        {"post-halt-single", Severity::error, "several enabled post-halt nodes", add_second_node},
        {"post-halt-line",
         Severity::error,
         "/soc/gpio@9030000 line 7 (SPARE)",
         [](Facts& facts) { put_on(facts, gpio_phandle, 7, 0); }},
        {"post-halt-line",
         Severity::error,
         "cannot be resolved",
         [](Facts& facts) { put_on(facts, 99, 6, 0); }},
        {"post-halt-polarity",
         Severity::error,
         "the wrong way round: the circuit releases at high",
         [](Facts& facts) { put_on(facts, gpio_phandle, post_halt_line, 1); }},
        {"post-halt-pulse",
         Severity::error,
         "the first pulse lasts 50 ms: at best the circuit releases in the final level, 250 ms",
         [](Facts& facts) { set_cell(facts, "active-delay-ms", 50); }},
        {"post-halt-final",
         Severity::warning,
         "only 50 ms before the kernel gives up: the firmware",
         [](Facts& facts) { set_cell(facts, "timeout-ms", 50); }},
        {"post-halt-input",
         Severity::warning,
         "an input until the power-off",
         [](Facts& facts) { set_property(facts, post_halt_node, "input"); }},
    };
}

std::vector<BadCase> driver_cases() {
    return {
        {"post-halt-driver",
         Severity::error,
         "no gpio-poweroff driver",
         [](Facts& facts) { facts.driver.registered = false; }},
        {"post-halt-driver",
         Severity::error,
         "no gpio-poweroff driver",
         [](Facts& facts) {
             facts.driver.registered = Known<bool>::missing("the kernel's drivers");
             facts.driver.configured = Built::out;
         }},
        {"post-halt-bound",
         Severity::error,
         "by the firmware (PSCI)",
         [](Facts& facts) {
             set_kernel(facts, 6, 1);
             unbind(facts);
         }},
        {"post-halt-priority",
         Severity::error,
         "not one of 0 to 255",
         [](Facts& facts) {
             set_cell(facts, "priority", 256);
             unbind(facts);
         }},
        {"post-halt-bound",
         Severity::error,
         "its probe is deferred",
         [](Facts& facts) {
             unbind(facts);
             known(facts.driver.deferred).emplace_back(post_halt_node);
         }},
        {"post-halt-bound", Severity::error, "a reason that could not be seen", unbind},
    };
}

/// A serial port's group on the post-halt line's pad, or none of its own on a controller whose pads
/// a request leaves as they are.
void add_pad_user(Facts& facts) {
    set_property(facts, gpio, "compatible", strings({"brcm,bcm2711-gpio"}));
    add_node(
        facts,
        "/soc/gpio@9030000/uart-pins",
        {{"brcm,pins", cells({5, 6})}, {"brcm,function", cells({2})}, {"phandle", cells({40})}});
    add_node(facts, "/soc/serial@9050000", {{"pinctrl-0", cells({40})}});
    put_on(facts, gpio_phandle, post_halt_line, 1);
    edit_config(facts, "active = \"high\"", "active = \"low\"");
}

void leave_the_pad(Facts& facts) {
    set_property(facts, gpio, "compatible", strings({"fsl,imx6q-gpio", "fsl,imx35-gpio"}));
    set_property(facts, gpio, "gpio-ranges", cells({41, 0, 30, 8}));
    add_node(facts,
             "/soc/iomuxc@9060000",
             {{"compatible", strings({"fsl,imx6q-iomuxc"})}, {"phandle", cells({41})}});
}

void hide_pins(Facts& facts) {
    facts.pins = Known<lines::Pins>::missing("pinctrl's view");
}

std::vector<BadCase> pad_cases() {
    return {
        {"post-halt-function",
         Severity::error,
         "sets the pad of the post-halt line /soc/gpio@9030000 line 6 (SUPPLY_RELEASE) to alt5",
         add_pad_user},
        {"post-halt-function", Severity::warning, "Nothing sets the pad", leave_the_pad},
        {"post-halt-function",
         Severity::warning,
         "for \"9050000.serial\"",
         [](Facts& facts) { known(facts.pins).pins[post_halt_line].mux_owner = "9050000.serial"; }},
        {"post-halt-drive",
         Severity::warning,
         "after halt it is only released, and only a pull-up makes it high",
         [](Facts& facts) { put_on(facts, gpio_phandle, post_halt_line, 6); }},
        {"post-halt-line",
         Severity::error,
         "There is no line 6 of /soc/gpio@9030000: it has 5, numbered from 0",
         [](Facts& facts) { set_property(facts, gpio, "ngpios", cells({5})); }},
    };
}

std::vector<BadCase> rival_cases() {
    return {
        {"post-halt-first",
         Severity::error,
         "cuts the board's rails while the kernel still prepares",
         [](Facts& facts) { add_power_chip(facts, "rockchip,rk808"); }},
        {"post-halt-first",
         Severity::warning,
         "at the same priority",
         [](Facts& facts) { add_power_chip(facts, "x-powers,axp803"); }},
        {"post-halt-first",
         Severity::warning,
         "is not known here",
         [](Facts& facts) { add_power_chip(facts, "pontoon,charger"); }},
        {"post-halt-first",
         Severity::warning,
         "switches off at priority 225",
         [](Facts& facts) { facts.power_off.efi = true; }},
        {"post-halt-chip",
         Severity::warning,
         "behind a bus",
         [](Facts& facts) {
             put_on(facts, expander_phandle, 2, 0);
             edit_config(facts,
                         "\"soc-gpio\"\nline = \"SUPPLY_RELEASE\"",
                         "\"float-expander\"\nline = \"HATCH\"");
         }},
        {"post-halt-claimed",
         Severity::error,
         "a gpio-hog as output-low",
         [](Facts& facts) {
             unbind(facts);
             add_node(facts,
                      "/soc/gpio@9030000/pump-hog",
                      {{"gpio-hog", ""}, {"gpios", cells({6, 0})}, {"output-low", ""}});
         }},
        {"post-halt-claimed",
         Severity::error,
         "Somebody else holds",
         [](Facts& facts) {
             unbind(facts);
             soc_line(facts, post_halt_line).used = true;
             soc_line(facts, post_halt_line).consumer = "gauge-tool";
         }},
        {"post-halt-claimed",
         Severity::warning,
         "today the driver came first",
         [](Facts& facts) {
             add_node(facts, "/leds/pump", {{"gpios", cells({gpio_phandle, 6, 0})}});
         }},
        {"post-halt-start", Severity::warning, "feeds the hold capacitor", know_the_pulls},
        {"post-halt-start",
         Severity::warning,
         "A reboot passes through the same level",
         know_the_pulls},
    };
}

}  // namespace

std::vector<BadCase> audit::test::post_halt_bad_cases() {
    std::vector<BadCase> all;
    for (const auto& part : {node_cases(), driver_cases(), pad_cases(), rival_cases()}) {
        all.insert(all.end(), part.begin(), part.end());
    }
    return all;
}

TEST_CASE("each post-halt rule finds its bad case and no other rule of the group does",
          "[audit][post-halt]") {
    check_bad_cases(post_halt_rules(), post_halt_bad_cases());
}

TEST_CASE("what [post_halt] leaves out is unstated and cannot be told", "[audit][post-halt]") {
    struct Left {
        const char* key;
        const char* rule;
    };

    for (const auto& [key, rule] :
         {Left{"active = \"high\"\n", "post-halt-polarity"},
          Left{"pulse = \"100 ms\"\n", "post-halt-pulse"},
          Left{"chip = \"soc-gpio\"\nline = \"SUPPLY_RELEASE\"\n", "post-halt-line"}}) {
        INFO(rule);
        Facts facts = good_unit();
        edit_config(facts, key, "");
        for (const RuleResult& result : judged(post_halt_rules(), facts)) {
            if (result.rule->id == rule) {
                CHECK_THAT(outcome(result.judgement), StartsWith("cannot tell: [post_halt]"));
            } else {
                CHECK(findings_in(result.judgement).empty());
            }
        }
        CHECK(judge_post_halt(facts).verdict == core::Verdict::cannot_tell);
    }
}

TEST_CASE("a circuit that needs no more than the first pulse passes, one that needs a little more "
          "does not",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    edit_config(facts, "pulse = \"100 ms\"", "pulse = \"200 ms\"");
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("pass"));
    edit_config(facts, "pulse = \"100 ms\"", "pulse = \"201 ms\"");
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("found: error"));
}

TEST_CASE("the pulse that the circuit needs is computed from its parts where they are stated",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    edit_config(facts, "pulse = \"100 ms\"\n", "\n" + logger_parts("47 uF"));
    REQUIRE(facts.config->loaded.settings);
    const config::Settings& settings = *facts.config->loaded.settings;
    const circuit::CircuitRead read = read_section(*settings.circuit);
    REQUIRE(read.circuit);
    const double worst = circuit::worst_pulse(*read.circuit);
    const double typical =
        circuit::shortest_pulse(circuit::values_at(*read.circuit, circuit::everything_typical()));
    const Known<NeededPulse> needed = needed_pulse(settings);
    REQUIRE(needed);
    CHECK(std::chrono::duration<double>(needed->pulse).count() > typical);
    CHECK_THAT(std::chrono::duration<double>(needed->pulse).count(),
               Catch::Matchers::WithinAbs(worst, 1e-6));
    const std::string text = to_text(needed->pulse);
    CHECK(outcome(of("post-halt-pulse", facts)) ==
          "pass: the first pulse lasts 200 ms, the circuit needs " + text);
    set_cell(facts, "active-delay-ms", 5);
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("found: error"));
    CHECK_THAT(findings_in(of("post-halt-pulse", facts)).front().evidence.back(),
               ContainsSubstring("circuit: " + text + " in the worst case (nightlatch circuit)"));
}

TEST_CASE("a stated pulse that is shorter than the parts need is told, and does not hide the need",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    edit_config(facts, "pulse = \"100 ms\"\n", "pulse = \"2 ms\"\n\n" + logger_parts("47 uF"));
    const std::vector<Finding> found = findings_in(of("post-halt-pulse", facts));
    REQUIRE(found.size() == 1);
    CHECK(found.front().severity == Severity::warning);
    CHECK_THAT(
        found.front().sentence,
        StartsWith("[post_halt] pulse states 2 ms, and by [circuit] the worst corner needs "));
    set_cell(facts, "active-delay-ms", 5);
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("found: error"));
    edit_config(facts, "pulse = \"100 ms\"\n", "pulse = \"100 ms\"\n\n" + logger_parts("47 uF"));
    set_cell(facts, "active-delay-ms", 100);
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("pass"));
}

TEST_CASE("of parts that are incomplete what is stated counts", "[audit][post-halt]") {
    Facts facts = good_unit();
    edit_config(facts, "pulse = \"100 ms\"\n", "\n" + logger_parts("22 F"));
    CHECK_THAT(outcome(of("post-halt-pulse", facts)),
               StartsWith("cannot tell: [post_halt] pulse") &&
                   ContainsSubstring("nightlatch circuit"));
    edit_config(facts, "pulse = \"100 ms\"\n", "pulse = \"100 ms\"\n\n" + logger_parts("22 F"));
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("pass"));
}

TEST_CASE("a circuit that no pulse releases is an error whatever is stated, one that only some "
          "units of fail a warning",
          "[audit][post-halt]") {
    for (const char* stated : {"", "pulse = \"100 ms\"\n"}) {
        Facts facts = good_unit();
        edit_config(
            facts, "pulse = \"100 ms\"\n", std::string(stated) + "\n" + logger_parts("none"));
        INFO(stated);
        CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("found: error"));
        edit_config(facts,
                    "pulse = \"100 ms\"\n",
                    std::string(stated) + "\n" + logger_parts("3.3 uF, 47 uF, 68 uF"));
        CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("found: warning"));
    }
}

TEST_CASE("a pulse that outlasts the kernel's patience may never come when the firmware follows",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    edit_config(facts, "pulse = \"100 ms\"", "pulse = \"4 s\"");
    CHECK_THAT(outcome(of("post-halt-pulse", facts)),
               ContainsSubstring("the supply may stay connected"));
    remove_node(facts, "/psci");
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), ContainsSubstring("after the kernel"));
}

TEST_CASE("delays of the tree are not taken on trust from a kernel that may not know them",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    edit_config(facts, "pulse = \"100 ms\"", "pulse = \"150 ms\"");
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("pass"));
    set_kernel(facts, 4, 4);
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("found: warning"));
    facts.kernel = Known<KernelVersion>::missing("the kernel's version");
    CHECK_THAT(outcome(of("post-halt-pulse", facts)), StartsWith("cannot tell"));
}

TEST_CASE("a node below a disabled one is disabled, and the finding says where",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    remove_node(facts, post_halt_node);
    add_node(facts, "/power", {{"status", strings({"disabled"})}});
    add_node(facts,
             "/power/release",
             {{"compatible", strings({"gpio-poweroff"})}, {"gpios", cells({1, 6, 0})}});
    const std::vector<Finding> found = findings_in(of("post-halt-enabled", facts));
    REQUIRE(found.size() == 1);
    CHECK(found.front().evidence.front() == "/power/status = \"disabled\"");
    CHECK_THAT(found.front().remedy, ContainsSubstring("target-path = \"/power\""));
}

TEST_CASE("before Linux 6.7 the kernel log's own words are the evidence", "[audit][post-halt]") {
    Facts facts = good_unit();
    set_kernel(facts, 6, 1);
    unbind(facts);
    known(facts.driver.log)
        .emplace_back("poweroff-gpio supply-release: pm_power_off function already registered");
    const std::vector<Finding> found = findings_in(of("post-halt-bound", facts));
    REQUIRE(found.size() == 1);
    CHECK_THAT(found.front().evidence.front(), ContainsSubstring("already registered"));
    CHECK_THAT(found.front().sentence, ContainsSubstring("-EBUSY"));
}

TEST_CASE("a vendor's force takes the occupied slot, so that is no reason", "[audit][post-halt]") {
    Facts facts = as_image(good_unit());
    set_kernel(facts, 6, 1);
    CHECK_THAT(outcome(of("post-halt-bound", facts)), StartsWith("found: error"));
    set_property(facts, post_halt_node, "force");
    CHECK_THAT(outcome(of("post-halt-bound", facts)), StartsWith("not applicable"));
}

TEST_CASE(
    "of an image whether the driver binds is not a pass, and an obstacle is found all the same",
    "[audit][post-halt]") {
    Facts facts = as_image(good_unit());
    CHECK_THAT(outcome(of("post-halt-bound", facts)), StartsWith("not applicable"));
    facts.kernel = Known<KernelVersion>::missing("the kernel's version");
    CHECK_THAT(outcome(of("post-halt-bound", facts)), StartsWith("cannot tell"));
    CHECK(judge_post_halt(facts).verdict == core::Verdict::cannot_tell);
}

TEST_CASE("a priority above the power chip's settles who acts first", "[audit][post-halt]") {
    Facts facts = good_unit();
    add_power_chip(facts, "x-powers,axp803");
    set_cell(facts, "priority", 200);
    CHECK_THAT(outcome(of("post-halt-first", facts)), StartsWith("pass"));
}

TEST_CASE("where the line rests before the driver is told by what is known of it, else cannot be",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    CHECK_THAT(outcome(of("post-halt-start", facts)), StartsWith("cannot tell"));
    know_the_pulls(facts);
    put_on(facts, gpio_phandle, 17, 0);
    CHECK_THAT(outcome(of("post-halt-start", facts)), StartsWith("pass"));
    put_on(facts, gpio_phandle, 17, 1);
    CHECK_THAT(outcome(of("post-halt-start", facts)), StartsWith("found: warning"));
    bootfiles::Intent text;
    text.file = "config.txt";
    bootfiles::EarlyLine early;
    early.line = 17;
    early.output = true;
    early.drive = bootfiles::EarlyLine::Drive::high;
    early.place = {"config.txt", 4};
    text.early_lines.push_back(early);
    facts.boot = std::vector<bootfiles::Intent>{text};
    CHECK_THAT(outcome(of("post-halt-start", facts)), StartsWith("pass: config.txt:4"));
}

TEST_CASE("facts that are not there make the post-halt rules say what is missing",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    facts.tree = Known<devicetree::Tree>::missing("the device tree (no such directory)");
    facts.driver = {};
    for (const RuleResult& result : judged(post_halt_rules(), facts)) {
        INFO(result.rule->id);
        CHECK_THAT(outcome(result.judgement), StartsWith("cannot tell: "));
    }
    CHECK(judge_post_halt(facts).reason == "the device tree (no such directory)");
}

namespace {

bool changes_config(const BadCase& bad) {
    Facts facts = good_unit();
    bad.spoil(facts);
    const config::Settings& now = *facts.config->loaded.settings;
    const config::Settings good = *good_unit().config->loaded.settings;
    return !(now.post_halt.where == good.post_halt.where) ||
           now.post_halt.active_low != good.post_halt.active_low ||
           now.post_halt.pulse != good.post_halt.pulse;
}

}  // namespace

TEST_CASE("a missing key of [post_halt] hides nothing that is wrong with the tree",
          "[audit][post-halt]") {
    // The rules that compare with a key cannot without it, and no others.
    const std::pair<const char*, std::string_view> keys[] = {
        {"active = \"high\"\n", "post-halt-polarity"},
        {"pulse = \"100 ms\"\n", "post-halt-pulse"},
        {"chip = \"soc-gpio\"\nline = \"SUPPLY_RELEASE\"\n", "post-halt-line"}};
    for (const auto& [key, compares] : keys) {
        for (const BadCase& bad : post_halt_bad_cases()) {
            INFO(key << " " << bad.id << ", " << bad.says);
            Facts facts = good_unit();
            bad.spoil(facts);
            if (bad.id == compares || changes_config(bad)) {
                continue;
            }
            edit_config(facts, key, "");
            CHECK(findings_in(of(bad.id, facts)).size() == 1);
        }
    }
}

TEST_CASE("a pad that is set to GPIO passes, and one that cannot be read is not passed unseen",
          "[audit][post-halt]") {
    Facts facts = good_unit();
    leave_the_pad(facts);
    add_node(facts,
             "/soc/iomuxc@9060000/release",
             {{"fsl,pins", cells({36 * 4, 0, 0, 5, 0, 0x80000000})}, {"phandle", cells({42})}});
    set_property(facts, post_halt_node, "pinctrl-0", cells({42}));
    CHECK_THAT(outcome(of("post-halt-function", facts)), ContainsSubstring("is set to GPIO"));
    set_property(
        facts, "/soc/iomuxc@9060000/release", "fsl,pins", cells({36 * 4, 0, 0, 2, 0, 0x80000000}));
    CHECK_THAT(outcome(of("post-halt-function", facts)), ContainsSubstring("is not GPIO"));
    Facts unknown = good_unit();
    hide_pins(unknown);
    CHECK_THAT(
        outcome(of("post-halt-function", unknown)),
        StartsWith("cannot tell: what the pad of /soc/gpio@9030000 line 6 (SUPPLY_RELEASE) is "
                   "set to: how \"pontoon,gpio\" writes"));
}

TEST_CASE("what follows the halt is said of an open line as it is", "[audit][post-halt]") {
    // [linux drivers/gpio/gpiolib.c, gpiod_direction_output: an open-drain line is never driven
    // high, an open-source line never low]
    struct Case {
        std::uint32_t flags;
        const char* polarity;
        const char* drive;
    };

    for (const auto& [flags, polarity, drive] :
         {Case{0, "goes high after halt", "drives both"},
          Case{6, "is released after halt, and goes high only if something pulls it up", "pull-up"},
          Case{2, "goes high after halt", "while the board runs it is only released"}}) {
        INFO(flags);
        Facts facts = good_unit();
        put_on(facts, gpio_phandle, post_halt_line, flags);
        CHECK_THAT(outcome(of("post-halt-polarity", facts)), ContainsSubstring(polarity));
        CHECK_THAT(outcome(of("post-halt-drive", facts)), ContainsSubstring(drive));
    }
}

TEST_CASE("a priority is judged by the tree alone, and not where no driver reads it",
          "[audit][post-halt]") {
    Facts facts = as_image(good_unit());
    facts.kernel = Known<KernelVersion>::missing("the kernel's version");
    set_cell(facts, "priority", 300);
    CHECK_THAT(outcome(of("post-halt-priority", facts)), StartsWith("found: error"));
    set_kernel(facts, 6, 6);
    CHECK_THAT(outcome(of("post-halt-priority", facts)), StartsWith("not applicable"));
    set_cell(facts, "priority", 255);
    set_kernel(facts, 6, 7);
    CHECK_THAT(outcome(of("post-halt-priority", facts)), StartsWith("pass"));
}

TEST_CASE("the final level lasts until the next way off, where there is one",
          "[audit][post-halt]") {
    // [linux 6.12 kernel/reboot.c, do_kernel_power_off; drivers/watchdog/bcm2835_wdt.c]
    Facts facts = good_unit();
    set_kernel(facts, 6, 12);
    CHECK_THAT(
        outcome(of("post-halt-final", facts)),
        ContainsSubstring("then the firmware (PSCI) \"arm,psci-1.0\" switches the processor off"));
    set_kernel(facts, 6, 6);
    CHECK_THAT(outcome(of("post-halt-final", facts)), ContainsSubstring("the kernel gives up"));
    set_kernel(facts, 6, 12);
    remove_node(facts, "/psci");
    CHECK_THAT(outcome(of("post-halt-final", facts)), ContainsSubstring("the kernel gives up"));
    add_power_chip(facts, "brcm,bcm2835-pm");
    CHECK_THAT(
        outcome(of("post-halt-final", facts)),
        ContainsSubstring("then the processor's reset into its halt \"brcm,bcm2835-pm\" switches"));
}
