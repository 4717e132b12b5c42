// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/hold_up.hpp"

#include "base/text.hpp"
#include "daemon/tool/circuit/words.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::tool {
namespace {

using circuit::Unit;
using hold_up::Budget;
using page::Row;

double seconds_of(Duration duration) {
    return std::chrono::duration<double>(duration).count();
}

hold_up::Surroundings surroundings_in(std::string_view text) {
    hold_up::Surroundings found;
    const config::Loaded loaded = config::load(text);
    if (!loaded.settings) {
        return found;
    }
    const core::Settings& settings = loaded.settings->core;
    found.known = true;
    found.debounce = seconds_of(settings.press_interval);
    for (const core::Alarm& alarm : settings.alarms) {
        if (alarm.action == core::Action::power_off) {
            found.alarms.push_back({alarm.name,
                                    seconds_of(alarm.lasting),
                                    alarm.inhibitors == core::Inhibitors::respect});
        }
    }
    for (const core::Stage& stage : settings.stages) {  // by rising hold
        if (stage.action == core::Action::power_off) {
            found.by_button = seconds_of(stage.hold + settings.release_interval + settings.grace);
        }
    }
    return found;
}

std::string noticed_words(const hold_up::Assessed& assessed) {
    switch (assessed.notice.by) {
    case hold_up::Notice::By::alarm:
        return "until the alarm " + in_quotes(assessed.notice.name) + " asks";
    case hold_up::Notice::By::button:
        return "until the button has asked";
    case hold_up::Notice::By::stated:
        break;
    }
    return "until the failure is noticed";
}

class BudgetTable {
public:
    explicit BudgetTable(const hold_up::Assessed& assessed) : assessed_(assessed) {
        rows_.push_back({"", "typical", "worst corner"});
    }

    std::vector<Row> run() {
        const hold_up::HoldUp& hold_up = assessed_.hold_up;
        const std::string capacity = "capacity, at the end of its life";
        rows_.push_back(
            {capacity,
             value_text(hold_up.capacity.typical * hold_up.end_of_life.typical, hold_up.unit),
             value_text(hold_up.capacity.least * hold_up.end_of_life.least, hold_up.unit)});
        row(
            "begins at", [](const Budget& one) { return one.exact.from; }, Unit::volt);
        row(
            "ends at, without load", [](const Budget& one) { return one.ends_at; }, Unit::volt);
        energies(hold_up.is_constant_power());
        row(
            "so it lasts", [](const Budget& one) { return one.lasts; }, Unit::second);
        row(
            noticed_words(assessed_), [](const Budget& one) { return -one.noticed; }, Unit::second);
        row(
            "to go down", [](const Budget& one) { return -one.going_down; }, Unit::second);
        row(
            "margin", [](const Budget& one) { return one.margin; }, Unit::second);
        return std::move(rows_);
    }

private:
    template <class Value>
    void row(const std::string& words, Value value, Unit unit) {
        rows_.push_back({words,
                         value_text(value(assessed_.typical), unit),
                         value_text(value(assessed_.worst), unit)});
    }

    void energies(bool converted) {
        row(
            "holds between the two", [](const Budget& one) { return one.stored; }, Unit::joule);
        row(
            "lost in its ESR", [](const Budget& one) { return -one.lost_in_esr; }, Unit::joule);
        if (converted) {
            row(
                "lost in the converter",
                [](const Budget& one) { return -one.lost_in_converter; },
                Unit::joule);
            row(
                "left for the board", [](const Budget& one) { return one.for_board; }, Unit::joule);
            row(
                "the board draws",
                [](const Budget& one) { return one.exact.power * one.exact.efficiency; },
                Unit::watt);
        } else {
            row(
                "left behind it", [](const Budget& one) { return one.for_board; }, Unit::joule);
            row(
                "drawn from it", [](const Budget& one) { return one.exact.current; }, Unit::ampere);
        }
    }

    const hold_up::Assessed& assessed_;
    std::vector<Row> rows_;
};

Json budget_json(const Budget& budget) {
    return {{"stored_j", budget.stored},
            {"lost_in_esr_j", budget.lost_in_esr},
            {"lost_in_converter_j", budget.lost_in_converter},
            {"for_board_j", budget.for_board},
            {"begins_v", budget.exact.from},
            {"ends_v", budget.ends_at},
            {"lasts_us", microseconds_of(budget.lasts)},
            {"noticed_us", microseconds_of(budget.noticed)},
            {"going_down_us", microseconds_of(budget.going_down)},
            {"margin_us", microseconds_of(budget.margin)}};
}

std::string_view word_of(hold_up::Notice::By by) {
    switch (by) {
    case hold_up::Notice::By::alarm:
        return "alarm";
    case hold_up::Notice::By::button:
        return "button";
    case hold_up::Notice::By::stated:
        break;
    }
    return "stated";
}

}  // namespace

hold_up::HoldUpRead read_hold_up(const config::CircuitSection& section, std::string_view text) {
    std::vector<circuit::NamedText> texts;
    texts.reserve(section.texts.size());
    for (const config::CircuitText& one : section.texts) {
        texts.push_back({one.key, one.text, one.place});
    }
    return hold_up::read_hold_up(texts, surroundings_in(text));
}

void add_hold_up(page::Page& page, const hold_up::Assessed& assessed) {
    constexpr unsigned indent = 2;
    page.raw("\nHold-up: when the supply fails\n");
    page.paragraph("  ", assessed.headline, indent);
    page.raw(page::table(BudgetTable(assessed).run(), {.indent = indent, .sides = "lr"}));
    if (!assessed.changes.empty()) {
        page.raw("\nWhat if, each by itself enough at the worst corner\n");
    }
    for (const hold_up::Change& one : assessed.changes) {
        page.paragraph("  + ", one.words + ": margin " + margin_text(one.margin), 4);
        page.raw("      " + one.line + "\n");
    }
    std::string words;
    for (const std::string_view one : hold_up::cautions()) {
        words += (words.empty() ? "" : " ") + std::string(one);
    }
    page.raw("\n");
    page.paragraph("Mind, of the store: ", words, indent);
}

Json hold_up_json(const hold_up::Assessed& assessed) {
    Json changes = Json::array();
    for (const hold_up::Change& one : assessed.changes) {
        changes.push_back({{"change", one.words},
                           {"line", one.line},
                           {"margin_us", microseconds_of(one.margin)}});
    }
    const auto cautions = hold_up::cautions();
    return {
        {"enough", assessed.is_enough()},
        {"text", assessed.headline},
        {"noticed_by", word_of(assessed.notice.by)},
        {"alarm",
         assessed.notice.by == hold_up::Notice::By::alarm ? Json(assessed.notice.name) : Json()},
        {"typical", budget_json(assessed.typical)},
        {"worst", budget_json(assessed.worst)},
        {"what_ifs", std::move(changes)},
        {"cautions", Json::Array(cautions.begin(), cautions.end())}};
}

int run_hold_up(const CircuitOptions& options,
                const std::string& file,
                const hold_up::HoldUpRead& read) {
    if (options.netlist || options.svg || options.wave) {
        return complain(file + " has nothing of the circuit but [circuit.hold_up]; --netlist, "
                               "--svg and --wave need its parts",
                        no_answer);
    }
    const hold_up::Assessed assessed = hold_up::assess(*read.hold_up, read.notice);
    const bool fine = std::none_of(
        assessed.findings.begin(), assessed.findings.end(), [](const circuit::Finding& one) {
            return one.weight != circuit::Finding::Weight::note;
        });
    if (options.json) {
        Json assumptions = Json::array();
        add_texts(assumptions, read.assumptions);
        print(json_text("nightlatch-circuit",
                        circuit_json_version,
                        {{"file", file},
                         {"fine", fine},
                         {"text", assessed.headline},
                         {"found", findings_json(assessed.findings)},
                         {"hold_up", hold_up_json(assessed)},
                         {"assumptions", std::move(assumptions)}}));
        return fine ? 0 : 1;
    }
    page::Page page(style_of_output());
    page.raw("hold-up: " +
             page.painted(assessed.is_enough() ? "enough" : "too little",
                          fine                   ? page::Paint::good
                          : assessed.is_enough() ? page::Paint::doubtful
                                                 : page::Paint::bad) +
             "\n");
    add_findings(page, assessed.findings);
    add_hold_up(page, assessed);
    page.raw("\n");
    for (const std::string& one : read.assumptions) {
        page.paragraph("", one + ".", 2);
    }
    print(page.str());
    return fine ? 0 : 1;
}

}  // namespace nightlatch::tool
