// SPDX-License-Identifier: MIT
#include "circuit/parameters.hpp"
#include "daemon/tool/circuit/circuit.hpp"

#include <cmath>

#include <nlohmann/json.hpp>

namespace nightlatch::tool {
namespace {

using Json = nlohmann::ordered_json;

/// JSON has no infinity: null is "never", "for ever" or "none".
Json finite(double value) {
    return std::isfinite(value) ? Json(value) : Json(nullptr);
}

Json transient_json(const circuit::Transient& one) {
    return {{"outcome", text_of(one.outcome)},
            {"pulse", one.pulse},
            {"released_at_s", finite(one.released_at)},
            {"opened_at_s", finite(one.opened_at)},
            {"rail_fall_s", finite(one.rail_fall)},
            {"hold_off_s", finite(one.hold_off)},
            {"margin_s", finite(one.margin)},
            {"hold_voltage_v", one.hold_voltage},
            {"rail_on_v", one.rail_on},
            {"rail_settles_v", one.rail_settles},
            {"latch_level_v", one.latch_level}};
}

/// Every part as it is at that corner.
Json position_json(const circuit::Circuit& circuit, const circuit::Position& position) {
    Json json = Json::object();
    for (std::size_t i = 0; i < circuit::parameter_count; ++i) {
        const circuit::Parameter& parameter = circuit::parameters()[i];
        const circuit::Spread& spread = circuit.parts.*parameter.spread;
        json[std::string(parameter.key)] = finite(spread.at(position[i]));
    }
    return json;
}

Json drawn_json(const circuit::Assessment& assessment) {
    const circuit::MonteCarlo& drawn = assessment.drawn;
    return {{"circuits", drawn.circuits},
            {"stay_off", drawn.stay_off},
            {"stays_off_percent", assessment.stays_off_percent},
            {"margin_s",
             {{"p0.1", finite(drawn.thousandth)},
              {"p1", finite(drawn.hundredth)},
              {"p10", finite(drawn.tenth)},
              {"p50", finite(drawn.half)},
              {"p90", finite(drawn.nine_tenths)}}}};
}

Json pin_json(const circuit::PinLoad& pin) {
    return {{"ideal_peak_a", finite(pin.ideal_peak)},
            {"peak_a", finite(pin.peak)},
            {"average_a", finite(pin.average)},
            {"charge_time_s", finite(pin.charge_time)},
            {"energy_j", finite(pin.energy)},
            {"within_limit", pin.within_limit},
            {"charged_in_time", pin.charged_in_time}};
}

Json switch_json(const circuit::SwitchLoad& main) {
    return {{"gate_drive_v", finite(main.gate_drive)},
            {"on_resistance_ohm", finite(main.on_resistance)},
            {"drop_v", finite(main.drop)},
            {"dissipation_w", finite(main.dissipation)},
            {"rise_k", finite(main.rise)},
            {"junction_c", finite(main.junction)},
            {"path_drop_v", finite(main.path_drop)},
            {"board_voltage_v", finite(main.board_voltage)}};
}

Json currents_json(const circuit::StandingCurrents& currents) {
    return {{"off_a", finite(currents.off_total)},
            {"off_main_switch_a", finite(currents.off_main_leakage)},
            {"off_latch_a", finite(currents.off_latch_leakage)},
            {"on_a", finite(currents.on_total)},
            {"on_gate_pull_a", finite(currents.on_gate_pull)},
            {"on_latch_pull_a", finite(currents.on_latch_pull)},
            {"on_bleeder_a", finite(currents.on_bleeder)},
            {"battery_days",
             currents.battery_days > 0.0 ? finite(currents.battery_days) : Json(nullptr)}};
}

Json on_json(const circuit::SwitchOn& on) {
    return {{"shortest_press_s", finite(on.shortest_press)},
            {"inrush_a", finite(on.inrush)},
            {"inrush_time_s", finite(on.inrush_time)},
            {"inrush_charge_as", finite(on.inrush_charge)},
            {"ready_again_s", finite(on.ready_again)},
            {"starts_by_itself", on.starts_by_itself},
            {"coupled_drive_v", finite(on.coupled_drive)},
            {"coupled_time_s", finite(on.coupled_time)},
            {"coupled_rail_v", finite(on.coupled_rail)},
            {"boot_hold_v", finite(on.boot_hold)},
            {"boot_releases", on.boot_releases}};
}

Json thresholds_json(const std::vector<circuit::ThresholdCell>& cells) {
    Json json = Json::array();
    for (const circuit::ThresholdCell& cell : cells) {
        json.push_back({{"release_threshold_v", cell.release_threshold},
                        {"latch_threshold_v", cell.latch_threshold},
                        {"outcome", text_of(cell.outcome)},
                        {"margin_s", finite(cell.margin)}});
    }
    return json;
}

Json sensitivities_json(const std::vector<circuit::Sensitivity>& all) {
    Json json = Json::array();
    for (const circuit::Sensitivity& one : all) {
        json.push_back({{"key", circuit::parameters()[one.parameter].key},
                        {"margin_at_least_s", finite(one.at_least)},
                        {"margin_at_most_s", finite(one.at_most)},
                        {"text", one.sentence}});
    }
    return json;
}

Json findings_json(const std::vector<circuit::Finding>& findings) {
    using Weight = circuit::Finding::Weight;
    Json json = Json::array();
    for (const circuit::Finding& one : findings) {
        json.push_back({{"weight",
                         one.weight == Weight::failure   ? "failure"
                         : one.weight == Weight::warning ? "warning"
                                                         : "note"},
                        {"id", one.id},
                        {"text", one.sentence},
                        {"remedy", one.remedy}});
    }
    return json;
}

Json what_ifs_json(const std::vector<circuit::WhatIf>& all) {
    Json json = Json::array();
    for (const circuit::WhatIf& one : all) {
        json.push_back({{"change", one.change},
                        {"margin_s", finite(one.margin)},
                        {"enough", one.enough},
                        {"cost", one.cost}});
    }
    return json;
}

}  // namespace

std::string circuit_json(const CircuitReport& report) {
    const circuit::Assessment& assessment = report.assessment;
    Json cautions = Json::array();
    for (const std::string_view one : circuit::cautions()) {
        cautions.push_back(one);
    }
    const Json json{{"format", "nightlatch-circuit"},
                    {"version", 1},
                    {"file", report.file},
                    {"fine", circuit_status(report) == 0},
                    {"stays_off", text_of(assessment.stays_off)},
                    {"text", assessment.headline},
                    {"percentile", report.percentile ? Json(*report.percentile) : Json(nullptr)},
                    {"found", findings_json(counted_findings(report))},
                    {"typical", transient_json(assessment.typical)},
                    {"worst", transient_json(assessment.worst.transient)},
                    {"worst_parts", position_json(report.circuit, assessment.worst.position)},
                    {"drawn", drawn_json(assessment)},
                    {"shortest_pulse_s", finite(assessment.shortest_pulse)},
                    {"thresholds", thresholds_json(assessment.thresholds)},
                    {"pin", pin_json(assessment.pin)},
                    {"main_switch", switch_json(assessment.main)},
                    {"currents", currents_json(assessment.currents)},
                    {"switching_on", on_json(assessment.on)},
                    {"sensitivities", sensitivities_json(assessment.sensitivities)},
                    {"what_ifs", what_ifs_json(assessment.what_ifs)},
                    {"assumptions", report.assumptions},
                    {"cautions", std::move(cautions)}};
    // A file's name may be any bytes; JSON's text may not.
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace nightlatch::tool
