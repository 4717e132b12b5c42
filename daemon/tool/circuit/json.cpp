// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "circuit/parameters.hpp"
#include "daemon/tool/circuit/circuit.hpp"
#include "daemon/tool/circuit/hold_up.hpp"

namespace nightlatch::tool {
namespace {

constexpr double day = 86'400.0;  // s

Json transient_json(const circuit::Transient& one) {
    return {{"outcome", text_of(one.outcome)},
            {"pulse", one.pulse},
            {"released_at_us", microseconds_of(one.released_at)},
            {"opened_at_us", microseconds_of(one.opened_at)},
            {"rail_fall_us", microseconds_of(one.rail_fall)},
            {"hold_off_us", microseconds_of(one.hold_off)},
            {"margin_us", microseconds_of(one.margin)},
            {"rail_margin_v", one.rail_margin},
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
        const double value = spread.at(position[i]);
        if (parameter.unit == circuit::Unit::second) {
            json[std::string(parameter.key) + "_us"] = microseconds_of(value);
        } else {
            json[parameter.key] = value;
        }
    }
    return json;
}

Json drawn_json(const circuit::Assessment& assessment) {
    const circuit::MonteCarlo& drawn = assessment.drawn;
    return {{"circuits", drawn.circuits},
            {"stay_off", drawn.stay_off},
            {"stays_off_percent", assessment.stays_off_percent},
            {"margin_us",
             {{"p0.1", microseconds_of(drawn.thousandth)},
              {"p1", microseconds_of(drawn.hundredth)},
              {"p10", microseconds_of(drawn.tenth)},
              {"p50", microseconds_of(drawn.half)},
              {"p90", microseconds_of(drawn.nine_tenths)}}}};
}

Json pin_json(const circuit::PinLoad& pin) {
    return {{"ideal_peak_a", pin.ideal_peak},
            {"peak_a", pin.peak},
            {"average_a", pin.average},
            {"charge_time_us", microseconds_of(pin.charge_time)},
            {"energy_j", pin.energy},
            {"within_limit", pin.within_limit},
            {"charged_in_time", pin.charged_in_time}};
}

Json switch_json(const circuit::SwitchLoad& main) {
    return {{"current_a", main.current},
            {"gate_drive_v", main.gate_drive},
            {"on_resistance_ohm", main.on_resistance},
            {"drop_v", main.drop},
            {"dissipation_w", main.dissipation},
            {"rise_k", main.rise},
            {"junction_c", main.junction},
            {"path_drop_v", main.path_drop},
            {"board_voltage_v", main.board_voltage}};
}

Json currents_json(const circuit::StandingCurrents& currents) {
    return {{"off_a", currents.off_total},
            {"off_main_switch_a", currents.off_main_leakage},
            {"off_latch_a", currents.off_latch_leakage},
            {"on_a", currents.on_total},
            {"on_gate_pull_a", currents.on_gate_pull},
            {"on_latch_pull_a", currents.on_latch_pull},
            {"on_bleeder_a", currents.on_bleeder},
            {"battery_us",
             currents.battery_days > 0.0 ? microseconds_of(currents.battery_days * day) : Json()}};
}

Json on_json(const circuit::SwitchOn& on) {
    return {{"shortest_press_us", microseconds_of(on.shortest_press)},
            {"inrush_a", on.inrush},
            {"inrush_time_us", microseconds_of(on.inrush_time)},
            {"inrush_charge_as", on.inrush_charge},
            {"ready_again_us", microseconds_of(on.ready_again)},
            {"starts_by_itself", on.starts_by_itself},
            {"coupled_drive_v", on.coupled_drive},
            {"coupled_time_us", microseconds_of(on.coupled_time)},
            {"coupled_rail_v", on.coupled_rail},
            {"boot_hold_v", on.boot_hold},
            {"boot_releases", on.boot_releases}};
}

Json thresholds_json(const std::vector<circuit::ThresholdCell>& cells) {
    Json json = Json::array();
    for (const circuit::ThresholdCell& cell : cells) {
        json.push_back({{"release_threshold_v", cell.release_threshold},
                        {"latch_threshold_v", cell.latch_threshold},
                        {"outcome", text_of(cell.outcome)},
                        {"margin_us", microseconds_of(cell.margin)}});
    }
    return json;
}

Json sensitivities_json(const std::vector<circuit::Sensitivity>& all) {
    Json json = Json::array();
    for (const circuit::Sensitivity& one : all) {
        json.push_back({{"key", circuit::parameters()[one.parameter].key},
                        {"margin_at_least_us", microseconds_of(one.at_least)},
                        {"margin_at_most_us", microseconds_of(one.at_most)},
                        {"text", one.sentence}});
    }
    return json;
}

Json settings_json(const circuit::Settings& settings) {
    Json json = Json::array();
    for (const circuit::Setting& one : settings) {
        json.push_back({{"key", one.key}, {"value", one.text}});
    }
    return json;
}

Json what_ifs_json(const std::vector<circuit::WhatIf>& all) {
    Json json = Json::array();
    for (const circuit::WhatIf& one : all) {
        json.push_back({{"change", one.change},
                        {"margin_us", microseconds_of(one.margin)},
                        {"enough", one.enough},
                        {"adds", one.adds},
                        {"cost", one.cost},
                        {"settings", settings_json(one.settings)}});
    }
    return json;
}

Json assumptions_json(const std::vector<circuit::Assumption>& all) {
    Json json = Json::array();
    for (const circuit::Assumption& one : all) {
        json.push_back({{"key", one.key},
                        {"least", one.spread.least},
                        {"typical", one.spread.typical},
                        {"most", one.spread.most},
                        {"unit", circuit::symbol_of(one.unit)},
                        {"source", one.source},
                        {"text", circuit::sentence_of(one)}});
    }
    return json;
}

}  // namespace

void add_texts(Json& json, const std::vector<std::string>& texts) {
    for (const std::string& one : texts) {
        json.push_back({{"text", one}});
    }
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
                        {"remedy", one.remedy},
                        {"settings", settings_json(one.settings)}});
    }
    return json;
}

std::string circuit_json(const CircuitReport& report) {
    const circuit::Assessment& assessment = report.assessment;
    const auto cautions = circuit::cautions();
    Json assumptions = assumptions_json(report.assumptions);
    add_texts(assumptions, report.hold_up_assumptions);
    const Json json{{"file", report.file},
                    {"fine", circuit_status(report) == 0},
                    {"stays_off", text_of(assessment.stays_off)},
                    {"text", assessment.headline},
                    {"percentile", report.percentile},
                    {"found", findings_json(counted_findings(report))},
                    {"typical", transient_json(assessment.typical)},
                    {"typical_parts", position_json(report.circuit, circuit::everything_typical())},
                    {"worst", transient_json(assessment.worst.transient)},
                    {"worst_parts", position_json(report.circuit, assessment.worst.position)},
                    {"drawn", drawn_json(assessment)},
                    {"shortest_pulse_us", microseconds_of(assessment.shortest_pulse)},
                    {"thresholds", thresholds_json(assessment.thresholds)},
                    {"pin", pin_json(assessment.pin)},
                    {"main_switch", switch_json(assessment.main)},
                    {"currents", currents_json(assessment.currents)},
                    {"switching_on", on_json(assessment.on)},
                    {"sensitivities", sensitivities_json(assessment.sensitivities)},
                    {"what_ifs", what_ifs_json(assessment.what_ifs)},
                    {"hold_up", report.hold_up ? hold_up_json(*report.hold_up) : Json()},
                    {"assumptions", std::move(assumptions)},
                    {"cautions", Json::Array(cautions.begin(), cautions.end())}};
    return json_text("nightlatch-circuit", circuit_json_version, json);
}

}  // namespace nightlatch::tool
