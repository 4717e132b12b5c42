// SPDX-License-Identifier: MIT
// What a "chip" and a "line" mean is one answer, whoever is asked: the service that opens the line,
// the audit that says where it is, and the tool that picks it for a person.
#include "audit/scene.hpp"
#include "daemon/gpio/button_line.hpp"
#include "daemon/gpio/survey.hpp"
#include "daemon/tool/pick_lines.hpp"
#include "support/fake_gpiod.hpp"
#include "support/seeds.hpp"

#include <cerrno>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using test::Dice;
using test::FakeGpio;

namespace {

namespace fs = std::filesystem;

using Strings = std::vector<std::string>;

/// A machine whose chips share labels, whose lines share names, and whose /dev has links.
class Machine {
public:
    explicit Machine(Dice& dice) : dice_(dice) {
        const Strings labels{"soc-gpio", "soc-gpio", "expander", "gpiochip7", "float/hatch"};
        for (const unsigned number : {0U, 1U, 2U, 10U}) {
            if (number > 0 && dice.one_in(3)) {
                continue;
            }
            test::FakeChip& chip = gpio.add(number, dice.pick(labels), line_names());
            devices_.push_back(chip.name);
            chip.open_error = dice.one_in(8) ? EACCES : 0;
        }
        lay_links();
    }

    /// Any text that may be written for a chip.
    std::string chip_text() {
        const std::string dev = gpio.places().dev;
        std::string name = dice_.pick(names_);
        switch (dice_.below(5)) {
        case 0:
        case 1:
            return dev + "/" + name;
        case 2:
            return "/dev/" + name;
        default:
            return name;
        }
    }

    std::string line_text() { return dice_.pick(line_texts_); }

    FakeGpio gpio;

private:
    Strings line_names() {
        Strings names(1 + dice_.below(6));
        for (std::string& name : names) {
            name = dice_.pick(Strings{"", "LID", "HATCH", "HATCH:2", "2", "MAST_LAMP"});
        }
        return names;
    }

    /// To a chip, to a link before it, or to nothing.
    void lay_links() {
        const std::string dev = gpio.places().dev;
        fs::create_directory(dev + "/gauge");
        Strings targets = devices_;
        targets.emplace_back("gpiochip99");
        for (const std::string name : {"gpiochip4", "front-panel", "gauge/lid"}) {
            if (dice_.one_in(3)) {
                continue;
            }
            std::string target = name.find('/') == std::string::npos ? "" : "../";
            if (dice_.one_in(2)) {
                target = dev + "/";
            }
            target += dice_.pick(targets);
            fs::create_symlink(target, fs::path(dev) / name);
            targets.emplace_back(name);
        }
    }

    Dice& dice_;
    Strings devices_;
    const Strings names_{"gpiochip0",
                         "gpiochip1",
                         "gpiochip2",
                         "gpiochip10",
                         "gpiochip4",
                         "gpiochip7",
                         "gpiochip99",
                         "soc-gpio",
                         "float/hatch",
                         "expander",
                         "gauge/lid",
                         "front-panel",
                         "mast",
                         ""};
    const Strings line_texts_{
        "", "LID", "HATCH", "HATCH:2", "MAST_LAMP", "HORN", "0", "1", "2", "02", "5", "4294967297"};
};

struct Answer {
    std::string chip;
    unsigned offset = 0;

    bool operator==(const Answer&) const = default;
};

using Answers = std::optional<Answer>;

std::string shown(const Answers& answer) {
    return answer ? answer->chip + " line " + std::to_string(answer->offset) : "none";
}

Answers opened(const FakeGpio& gpio, const lines::LineName& where) {
    gpio::GpioButtonLine line(gpio.places());
    const auto facts = line.open({where, lines::Bias::as_is, false});
    return facts ? Answers({facts->chip_name, facts->offset}) : std::nullopt;
}

Answers audited(const audit::Facts& facts, const lines::LineName& where) {
    const auto line = audit::place_line(audit::make_scene(facts), where);
    return line ? Answers({line->chip_name, line->offset}) : std::nullopt;
}

Answers picked(const audit::Facts& facts, const lines::LineName& where) {
    const auto line = tool::pick_line(*facts.chips, where.line, where.chip);
    return line ? Answers({(*facts.chips)[line->chip].name, line->offset}) : std::nullopt;
}

}  // namespace

TEST_CASE("the service, the audit and the tool mean the same chip and line by every text",
          "[property][lines]") {
    Dice dice(test::seed_for("which line is meant"));
    unsigned found = 0;
    unsigned refused = 0;
    for (int round = 0; round < 100; ++round) {
        Machine machine(dice);
        audit::Facts facts;
        facts.chips = gpio::survey(machine.gpio.places()).chips;
        for (int text = 0; text < 60; ++text) {
            const lines::LineName where{machine.chip_text(), machine.line_text()};
            const Answers service = opened(machine.gpio, where);
            const Answers audit = audited(facts, where);
            const Answers tool = picked(facts, where);
            ++(service ? found : refused);
            INFO("chip \"" << where.chip << "\" line \"" << where.line << "\"");
            INFO("service " << shown(service) << ", audit " << shown(audit) << ", tool "
                            << shown(tool));
            REQUIRE(audit == service);
            REQUIRE(tool == service);
        }
    }
    // The draws reach both ends.
    CHECK(found > 300);
    CHECK(refused > 300);
}
