// SPDX-License-Identifier: MIT
// Whatever a device tree, another program, a file, the bus or a command line says, what people are
// shown of it steers no terminal and adds no line.
#include "audit/engine.hpp"
#include "audit/report.hpp"
#include "base/text.hpp"
#include "bootfiles/config_txt.hpp"
#include "bootfiles/env_txt.hpp"
#include "bootfiles/extlinux.hpp"
#include "circuit/quantity.hpp"
#include "config/load.hpp"
#include "daemon/gpio/sentences.hpp"
#include "daemon/login/locks.hpp"
#include "daemon/sys/journal.hpp"
#include "daemon/tool/bounce/bounce.hpp"
#include "daemon/tool/lines/lines.hpp"
#include "picture/diagram.hpp"
#include "rehearsal/moment.hpp"
#include "rehearsal/press_script.hpp"
#include "support/good_unit.hpp"
#include "support/hostile.hpp"
#include "wave/csv_reader.hpp"
#include "wave/vcd_reader.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using test::HostileNames;
using test::line_that_steers;

namespace {

constexpr int rounds = 40;

/// As a page or a message: nothing in it steers.
void check_shown(const std::string& shown) {
    INFO(safe_lines(shown));
    REQUIRE(line_that_steers(shown).empty());
}

/// As one sentence, which may not even have a line end of ours.
void check_sentence(const std::string& sentence) {
    INFO(safe_lines(sentence));
    REQUIRE(is_safe(sentence));
}

void spoil_chips(audit::Facts& facts, HostileNames& names) {
    for (auto& chip : audit::test::known(facts.chips)) {
        chip.label += names.next_string();
        for (std::size_t i = 0; i < chip.lines.size(); ++i) {
            auto& line = chip.lines[i];
            line.consumer = names.next_string();
            line.used = i % 3 == 0;
            line.name += i % 2 == 0 ? names.next_string() : "";
        }
    }
}

void spoil_surroundings(audit::Facts& facts, HostileNames& names) {
    using audit::test::known;
    facts.where = names.next();
    known(facts.config).file = names.next();
    known(facts.kernel).release = names.next();
    known(facts.leds).front().name = names.next();
    known(facts.mounts) = {{names.next(), names.next(), false}, {"/boot" + names.next(), "vfat"}};
    facts.driver.log = std::vector<std::string>{names.next(), names.next()};
    known(facts.account.chips).front().owner = names.next();
    audit::LoginFacts& login = known(facts.login);
    login.inhibitors =
        std::vector<audit::Inhibitor>{{"shutdown", names.next(), names.next(), "block", 0, 1},
                                      {"shutdown", names.next(), names.next(), "delay", 0, 1}};
    login.may_power_off = names.next();
    login.handle_power_key = names.next();
    facts.manager.runtime_watchdog =
        Known<std::optional<Duration>>::missing("what " + names.next() + " says");
    bootfiles::Intent intent = bootfiles::read_config_txt(
        names.next(),
        "dtoverlay=gpio-led\ndtoverlay=" + names.next() + "\ngpio=3=op," + names.next() + "\n",
        {},
        {});
    known(facts.boot) = {std::move(intent)};
}

void spoil_tree(audit::Facts& facts, HostileNames& names) {
    using namespace audit::test;
    std::string value;
    for (int i = 0; i < 8; ++i) {
        value += names.next_string() + '\0';
    }
    set_property(facts, audit::test::gpio, "gpio-line-names", value);
    add_node(facts,
             "/leds/mast",
             {{"gpios", cells({gpio_phandle, button_line, 0})},
              {"label", names.next_string() + '\0'},
              {"status", names.next_string() + '\0'}});
    add_node(facts,
             "/keys\"};evil{",
             {{"compatible", strings({"gpio-keys"})}, {"label", names.next_string() + '\0'}});
}

}  // namespace

TEST_CASE("an audit of a hostile unit steers no terminal and adds no line", "[hostile]") {
    HostileNames names(test::seed_for("hostile audit"));
    for (int round = 0; round < rounds; ++round) {
        audit::Facts facts = audit::test::good_unit();
        if (round % 2 == 0) {
            audit::test::remove_node(facts, audit::test::post_halt_node);
        }
        if (round % 3 != 0) {
            spoil_chips(facts, names);
        }
        spoil_surroundings(facts, names);
        if (round % 4 != 3) {
            spoil_tree(facts, names);
        }
        if (round % 5 == 4) {
            audit::test::known(facts.config).loaded = config::load("[buton]\n");
        }
        check_shown(to_text(audit::run(facts, {}), {true, {}}));
    }
}

TEST_CASE("sentences about lines and their holders are one line each", "[hostile]") {
    HostileNames names(test::seed_for("hostile lines"));
    for (int round = 0; round < rounds; ++round) {
        gpio::LinePlace place;
        lines::Chip chip;
        chip.name = "gpiochip0";
        chip.label = names.next_string();
        place.chip = lines::text_of(chip);
        place.offset = 5;
        place.name = names.next_string();
        check_sentence(gpio::text_of(place));
        check_sentence(gpio::line_busy(place, names.next_string()).text);
        check_sentence(gpio::line_refused(place, 5).text);
        check_sentence(gpio::no_such_chip(names.next_string(), {chip}).text);
        tool::LinesFacts facts;
        audit::Facts unit = audit::test::good_unit();
        spoil_chips(unit, names);
        facts.survey.chips = *unit.chips;
        facts.not_seen = {names.next()};
        check_shown(tool::lines_text(facts, true));
    }
}

TEST_CASE("what the service says is one line, on a terminal and in the journal", "[hostile]") {
    HostileNames names(test::seed_for("hostile journal"));
    for (int round = 0; round < rounds; ++round) {
        const std::string text = "line 5 is in use by " + names.next();
        const std::vector<ports::Field> fields{{"LINE", names.next()}};
        const sys::Saying saying{
            ports::Priority::error, ports::Message::plain, text, std::span(fields)};
        std::string line = sys::plain_line(saying);
        REQUIRE(line.ends_with('\n'));
        line.pop_back();
        check_sentence(line);
        for (const std::string& field : sys::journal_fields(saying)) {
            check_sentence(field);
        }
        check_sentence(login::text_of(
            {{"shutdown", names.next_string(), names.next_string(), "block", 0, 1}}));
        check_sentence(rehearsal::line_of({{}, rehearsal::Whose::info, names.next()}));
    }
}

TEST_CASE("what is wrong with a hostile file is said in one line", "[hostile]") {
    HostileNames names(test::seed_for("hostile files"));
    for (int round = 0; round < rounds; ++round) {
        const std::string file = names.next();
        const auto check_all = [&file](const config::Diagnostics& diagnostics) {
            REQUIRE_FALSE(diagnostics.empty());
            for (const config::Diagnostic& one : diagnostics) {
                check_sentence(one.key);
                check_sentence(one.text);
                check_sentence(config::to_text(one, file));
            }
        };
        check_all(config::load("[button]\nline = '''" + names.next_utf8() + "'''\n").diagnostics);
        check_all(config::load(names.next()).diagnostics);
        check_all(rehearsal::load_press_script("[[step]]\n'" + names.next()).diagnostics);
        const auto quantity = circuit::parse_quantity(names.next(), circuit::Unit::ohm);
        REQUIRE_FALSE(quantity);
        check_sentence(quantity.error());
    }
}

TEST_CASE("captures and boot files of any bytes are told in safe sentences", "[hostile]") {
    HostileNames names(test::seed_for("hostile captures"));
    for (int round = 0; round < rounds; ++round) {
        const std::string table = "time," + names.next() + ",b\n0,1,1\n1,0,0\n";
        for (const wave::Problem& one : wave::read_csv(table, names.next()).problems) {
            check_sentence(one.text);
        }
        const std::string dump = "$timescale 1 us $end\n$var wire 1 ! " + names.next() +
                                 " $end\n$enddefinitions $end\n#0\n" + names.next();
        for (const wave::Problem& one : wave::read_vcd(dump, names.next()).problems) {
            check_sentence(one.text);
        }
        const std::string file = names.next();
        for (const bootfiles::Intent& intent :
             {bootfiles::read_config_txt(file, names.next() + "\n[" + names.next() + "]", {}, {}),
              bootfiles::read_env_txt(file, "overlays=" + names.next()),
              bootfiles::read_extlinux(file, "label " + names.next() + "\n  fdt")}) {
            for (const bootfiles::Remark& remark : intent.remarks) {
                check_sentence(remark.text);
            }
        }
    }
}

TEST_CASE("a picture of hostile words is safe", "[hostile]") {
    HostileNames names(test::seed_for("hostile picture"));
    for (int round = 0; round < rounds; ++round) {
        wave::Timeline timeline;
        timeline.end = std::chrono::seconds(5);
        timeline.cues = {{{}, names.next(), names.next()}};
        timeline.marks = {{std::chrono::seconds(1), wave::MarkKind::remark, names.next()}};
        check_shown(picture::draw_svg(timeline, {names.next(), names.next()}));
    }
}

TEST_CASE("a measurement names its target safely", "[hostile]") {
    HostileNames names(test::seed_for("hostile bounce"));
    for (int round = 0; round < rounds; ++round) {
        tool::BounceTarget target;
        target.name = names.next();
        target.config = names.next();
        target.captured = round % 2 == 0;
        tool::BounceSeen seen;
        seen.end = round % 3 == 0 ? tool::BounceEnd::pressed : tool::BounceEnd::recorded;
        seen.remarks = {names.next()};
        check_shown(tool::bounce_text(target, seen));
    }
}
