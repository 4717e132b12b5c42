// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/wave.hpp"

#include "base/text.hpp"
#include "daemon/tool/circuit/hold_up.hpp"
#include "daemon/tool/circuit/words.hpp"
#include "daemon/tool/json.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"
#include "daemon/tool/wave_file.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::tool {
namespace {

using measured::Quantity;
using page::Page;
using page::Paint;
using page::Row;

constexpr unsigned indent = 2;

bool is_fine(const measured::Comparison& comparison) {
    return comparison.findings.empty();
}

std::string witness_command(const std::string& saw) {
    return "nightlatch logbook --witnessed " + in_quotes(saw);
}

void add_quantities(Page& page, const measured::Comparison& comparison) {
    std::vector<Row> rows{{"", "measured", "least", "typical", "most", ""}};
    for (const Quantity& one : comparison.quantities) {
        if (one.value) {
            rows.push_back({one.words,
                            text_of(*one.value, one),
                            text_of(one.computed.least, one),
                            text_of(one.computed.typical, one),
                            text_of(one.computed.most, one),
                            one.is_inside() ? "" : "OUTSIDE"});
        }
    }
    if (rows.size() > 1) {
        page.raw("\nMeasured, and computed from the parts as they are stated\n");
        page.raw(page::table(rows, {.indent = indent, .sides = "lrrrrl"}));
    }
    for (const Quantity& one : comparison.quantities) {
        if (!one.value) {
            page.paragraph("  ", one.words + ": cannot tell, " + one.why_not, 4);
        }
    }
}

void add_witness(Page& page, const measured::Witness& witness) {
    page.raw("\n");
    if (!witness.saw) {
        page.paragraph("", "No line for the logbook: " + witness.why_not + ".", indent);
        return;
    }
    page.paragraph("",
                   "The rail fell and stayed. If this is this unit, with this kernel, device tree "
                   "and configuration, and you watched it, say so on the unit; you are the "
                   "witness, this capture is not:",
                   0);
    page.raw("  " + witness_command(*witness.saw) + "\n");
}

Json number_json(const Quantity& quantity, double value) {
    return quantity.unit == circuit::Unit::second ? microseconds_of(value) : Json(value);
}

Json quantity_json(const Quantity& one) {
    const std::string unit = one.unit == circuit::Unit::second ? "us"
                             : one.per_second                  ? "v_s"
                                                               : "v";
    Json computed;
    if (one.value) {
        computed = {{"least", number_json(one, one.computed.least)},
                    {"typical", number_json(one, one.computed.typical)},
                    {"most", number_json(one, one.computed.most)}};
    }
    return {{"id", one.id},
            {"unit", unit},
            {"measured", one.value ? number_json(one, *one.value) : Json()},
            {"why_not", one.value ? Json() : Json(one.why_not)},
            {"computed", std::move(computed)},
            {"inside", one.value ? Json(one.is_inside()) : Json()},
            {"parts", one.parts}};
}

/// The columns that were named, in the order of `Waves`.
struct Columns {
    std::vector<std::string> names;
    std::vector<measured::CapturedCurve measured::Waves::*> curves;
};

Columns columns_of(const CircuitOptions& options) {
    struct Column {
        const std::string& name;
        measured::CapturedCurve measured::Waves::*curve;
    };

    Columns columns;
    for (const Column& column : {Column{options.line, &measured::Waves::line},
                                 Column{options.hold, &measured::Waves::hold},
                                 Column{options.rail, &measured::Waves::rail}}) {
        if (!column.name.empty()) {
            columns.names.push_back(column.name);
            columns.curves.push_back(column.curve);
        }
    }
    return columns;
}

/// Nothing, and told, when it cannot be read.
std::optional<measured::Waves> read_waves(const CircuitOptions& options) {
    const Columns columns = columns_of(options);
    if (columns.names.empty()) {
        complain("say which of the capture's columns is what: --line, --hold and --rail, one at "
                 "least, each with the column's name");
        return std::nullopt;
    }
    const auto text = read_wave_text(*options.wave);
    if (!text) {
        complain(text.error().text);
        return std::nullopt;
    }
    wave::VoltsRead read = wave::read_volts({*options.wave, *text}, columns.names);
    for (const wave::Problem& problem : read.problems) {
        tell(problem_text(problem, *options.wave));
    }
    if (!read.curves) {
        return std::nullopt;
    }
    measured::Waves waves;
    for (std::size_t i = 0; i < columns.curves.size(); ++i) {
        waves.*columns.curves[i] = measured::CapturedCurve(std::move((*read.curves)[i]));
        if (!(waves.*columns.curves[i]).is_there()) {
            complain(wave_name(*options.wave) + ": " + in_quotes(columns.names[i]) +
                     " has fewer than 20 samples");
            return std::nullopt;
        }
    }
    return waves;
}

}  // namespace

std::string wave_text(const WaveReport& report, const page::Style& style) {
    Page page(style);
    const measured::Comparison& comparison = report.comparison;
    const bool fine = is_fine(comparison);
    page.raw(
        "measured: " +
        page.painted(fine ? "as computed" : "not as computed", fine ? Paint::good : Paint::bad) +
        "\n");
    page.paragraph("    ", report.wave + " beside [circuit] of " + report.file, 4);
    add_findings(page, comparison.findings);
    add_quantities(page, comparison);
    add_witness(page, comparison.witness);
    page.raw("\n");
    page.paragraph("Mind: ",
                   "a probe's ground clip connects the circuit to the oscilloscope's earth: never "
                   "on a node that is not ground, nor on a supply that is connected to the mains. "
                   "Mind the probe's and the input's rated voltage.",
                   indent);
    return page.str();
}

std::string wave_json(const WaveReport& report) {
    const measured::Comparison& comparison = report.comparison;
    Json quantities = Json::array();
    for (const Quantity& one : comparison.quantities) {
        quantities.push_back(quantity_json(one));
    }
    const measured::Witness& witness = comparison.witness;
    return json_text("nightlatch-circuit-wave",
                     1,
                     {{"file", report.file},
                      {"wave", report.wave},
                      {"fine", is_fine(comparison)},
                      {"found", findings_json(comparison.findings)},
                      {"quantities", std::move(quantities)},
                      {"witnessed", witness.saw ? Json(*witness.saw) : Json()},
                      {"not_witnessed", witness.saw ? Json() : Json(witness.why_not)}});
}

int run_wave(const CircuitOptions& options,
             const std::string& file,
             const circuit::Circuit& circuit) {
    const auto probe =
        options.probe == "none"
            ? Result<double, std::string>(circuit::infinite)
            : circuit::parse_quantity(options.probe, circuit::Unit::ohm, {1e3, 1e12});
    if (!probe) {
        return complain("--probe: " + probe.error(), no_answer);
    }
    const auto waves = read_waves(options);
    if (!waves) {
        return no_answer;
    }
    const WaveReport report{file,
                            wave_name(*options.wave),
                            circuit,
                            *waves,
                            measured::compare(circuit, *waves, *probe)};
    print(options.json ? wave_json(report) : wave_text(report, style_of_output()));
    if (options.svg) {
        if (const Outcome written = write_file(*options.svg, wave_picture(report)); !written) {
            return complain(written.error().text, no_answer);
        }
    }
    return is_fine(report.comparison) ? 0 : 1;
}

}  // namespace nightlatch::tool
