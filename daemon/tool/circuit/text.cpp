// SPDX-License-Identifier: MIT
#include "circuit/parameters.hpp"
#include "daemon/tool/circuit/circuit.hpp"
#include "daemon/tool/circuit/hold_up.hpp"
#include "daemon/tool/circuit/words.hpp"
#include "page/page.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

using circuit::Unit;

constexpr unsigned step = 2;
constexpr std::size_t most_influences = 6;

using page::Page;
using page::Paint;
using page::Row;

void add_heading(Page& page, std::string_view words) {
    page.raw("\n" + std::string(words) + "\n");
}

void add_numbers(Page& page, const std::vector<Row>& rows) {
    page.raw(page::table(rows, {.indent = step, .sides = "lr"}));
}

void add_words(Page& page, const std::vector<Row>& rows) {
    page.raw(page::table(rows, {.indent = step, .wrapped_at = page.style().columns}));
}

Paint paint_of_status(const CircuitReport& report) {
    if (circuit_status(report) == 0) {
        return Paint::good;
    }
    return report.assessment.stays_off == circuit::StaysOff::no ? Paint::bad : Paint::doubtful;
}

void add_head(Page& page, const CircuitReport& report) {
    const std::string_view verdict = text_of(report.assessment.stays_off);
    page.raw("stays off: " + page.painted(verdict, paint_of_status(report)) + "\n");
    page.paragraph(std::string(4, ' '), report.assessment.headline, 4);
    if (report.percentile) {
        page.paragraph(std::string(4, ' '), percentile_sentence(report), 4);
    }
    page.paragraph("next: ", next_action(report), 6);
}

void add_transient(Page& page, const CircuitReport& report) {
    const circuit::Transient& typical = report.assessment.typical;
    const circuit::Transient& worst = report.assessment.worst.transient;
    add_heading(page, "Switching off");
    const auto row = [&](const char* words, double circuit::Transient::*value, Unit unit) {
        return Row{words, value_text(typical.*value, unit), value_text(worst.*value, unit)};
    };
    std::vector<Row> rows{
        {"", "typical", "worst corner"},
        {"the supply", outcome_word(typical), outcome_word(worst)},
        row("opens, after the line rises", &circuit::Transient::opened_at, Unit::second),
        row("hold capacitor, the line dead", &circuit::Transient::hold_voltage, Unit::volt),
        row("release is held for another", &circuit::Transient::hold_off, Unit::second),
        row("rail has fallen after", &circuit::Transient::rail_fall, Unit::second),
        {"margin", margin_text(typical.margin), margin_text(worst.margin)},
        {"rail is then lower by", rail_margin_text(typical), rail_margin_text(worst)},
        row("latch would switch on above", &circuit::Transient::latch_level, Unit::volt),
        row("rail ends at", &circuit::Transient::rail_settles, Unit::volt),
        {"by the pulse", pulse_word(typical.pulse), pulse_word(worst.pulse)},
        {"shortest pulse that will do",
         "",
         value_text(report.assessment.shortest_pulse, Unit::second)}};
    add_numbers(page, rows);
    page.paragraph("  ", drawn_sentence(report.assessment), step);
}

void add_thresholds(Page& page, const CircuitReport& report) {
    const std::vector<circuit::ThresholdCell>& cells = report.assessment.thresholds;
    if (cells.size() != 9) {
        return;
    }
    add_heading(page, "Margin by the two thresholds, all else at its worst for them");
    Row head{"release \\ latch"};
    for (std::size_t i = 0; i < 3; ++i) {
        head.push_back(to_text(cells[i].latch_threshold, Unit::volt));
    }
    std::vector<Row> rows{head};
    for (std::size_t i = 0; i < 9; i += 3) {
        Row row{to_text(cells[i].release_threshold, Unit::volt)};
        for (std::size_t k = i; k < i + 3; ++k) {
            row.push_back(cells[k].outcome == circuit::Outcome::stays_off
                              ? margin_text(cells[k].margin)
                              : "FAILS");
        }
        rows.push_back(std::move(row));
    }
    add_numbers(page, rows);
}

void add_rest(Page& page, const CircuitReport& report) {
    add_heading(page, "The rest, each at its worst");
    add_words(page,
              {{"post-halt pin", pin_sentence(report)},
               {"main switch", switch_sentence(report)},
               {"board", board_sentence(report)},
               {"switched off", off_sentence(report)},
               {"while on", on_sentence(report)},
               {"switching on", press_sentence(report)},
               {"supply returns", return_sentence(report)},
               {"before the probe", boot_sentence(report)}});
}

void add_influences(Page& page, const CircuitReport& report) {
    const auto& all = report.assessment.sensitivities;
    if (all.empty()) {
        return;
    }
    add_heading(page, "What the margin hangs on, all else typical, largest first");
    const std::size_t shown = report.all ? all.size() : std::min(all.size(), most_influences);
    std::vector<Row> rows;
    rows.reserve(shown);
    for (std::size_t i = 0; i < shown; ++i) {
        const circuit::Parameter& parameter = circuit::parameters()[all[i].parameter];
        const circuit::Spread& spread = report.circuit.parts.*parameter.spread;
        rows.push_back({std::string(parameter.words),
                        to_text(spread.least, parameter.unit) + ": " + margin_text(all[i].at_least),
                        to_text(spread.most, parameter.unit) + ": " + margin_text(all[i].at_most)});
    }
    add_words(page, rows);
    if (shown < all.size()) {
        page.paragraph("  ", std::to_string(all.size() - shown) + " more with --all", step);
    }
}

/// Lines to paste, which are therefore not wrapped.
void add_settings(Page& page, const circuit::Settings& settings, std::size_t indent) {
    for (const circuit::Setting& one : settings) {
        page.raw(std::string(indent, ' ') + circuit::to_text(one) + "\n");
    }
}

void add_what_ifs(Page& page, const CircuitReport& report) {
    if (report.assessment.what_ifs.empty()) {
        return;
    }
    add_heading(page, "What if, each computed at the worst corner");
    for (const circuit::WhatIf& one : report.assessment.what_ifs) {
        std::string adds;
        for (const std::string& id : one.adds) {
            adds += (adds.empty() ? "; but it adds " : ", ") + id;
        }
        page.paragraph(one.enough ? "  + " : "  - ",
                       one.change + ": margin " + margin_text(one.margin) +
                           (one.enough ? ", enough" : ", not enough") + adds +
                           (one.cost.empty() ? "" : "; " + one.cost),
                       4);
        add_settings(page, one.settings, 8);
    }
}

void add_assumptions(Page& page, const CircuitReport& report) {
    if (report.assumptions.empty() && report.hold_up_assumptions.empty()) {
        return;
    }
    if (report.all) {
        add_heading(page, "Not stated, and therefore assumed");
        for (const circuit::Assumption& one : report.assumptions) {
            page.paragraph("  ", circuit::sentence_of(one), 4);
        }
        for (const std::string& one : report.hold_up_assumptions) {
            page.paragraph("  ", one, 4);
        }
        return;
    }
    page.raw("\n");
    page.paragraph("", assumed_sentence(report), step);
}

void add_cautions(Page& page) {
    std::string words;
    for (const std::string_view one : circuit::cautions()) {
        words += (words.empty() ? "" : " ") + std::string(one);
    }
    page.raw("\n");
    page.paragraph("Mind: ", words, step);
}

}  // namespace

void add_findings(Page& page, const std::vector<circuit::Finding>& found) {
    using Weight = circuit::Finding::Weight;
    for (const circuit::Finding& one : found) {
        const Paint paint = one.weight == Weight::failure   ? Paint::bad
                            : one.weight == Weight::warning ? Paint::doubtful
                                                            : Paint::bold;
        page.raw("\n" + page.painted(weight_word(one.weight), paint) + " " + one.id + "\n");
        page.paragraph(std::string(4, ' '), one.sentence, 4);
        if (!one.remedy.empty()) {
            page.paragraph("    do: ", one.remedy, 8);
        }
        add_settings(page, one.settings, 8);
    }
}

std::string circuit_text(const CircuitReport& report, const page::Style& style) {
    Page page(style);
    add_head(page, report);
    add_findings(page, counted_findings(report));
    add_transient(page, report);
    add_thresholds(page, report);
    add_rest(page, report);
    if (report.hold_up) {
        add_hold_up(page, *report.hold_up);
    }
    add_influences(page, report);
    add_what_ifs(page, report);
    add_assumptions(page, report);
    add_cautions(page);
    return page.str();
}

}  // namespace nightlatch::tool
