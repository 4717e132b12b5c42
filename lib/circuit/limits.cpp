// SPDX-License-Identifier: MIT
#include "circuit/limits.hpp"

#include <algorithm>
#include <array>
#include <span>

namespace nightlatch::circuit {
namespace {

using Weight = Finding::Weight;

// What is sold (common practice, no source); voltages mostly of the R5 series [ISO 3].
constexpr std::array common_watts{0.0625, 0.1, 0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0};
constexpr std::array common_volts{4.0, 6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 80.0, 100.0};

/// A small resistor warms up in some tenths of a second: a pulse counts as its mean over this long
/// (common practice, no source).
constexpr double warming_up = 0.1;

constexpr double rail_derating = 0.8;  // of an electrolytic (common practice, no source)

/// The next rating that is sold; none when it is beyond them.
std::vector<Setting> next_rating(const char* key,
                                 double value,
                                 Unit unit,
                                 std::span<const double> common) {
    const auto next = std::lower_bound(common.begin(), common.end(), value);
    if (next == common.end()) {
        return {};
    }
    return {{key, to_text(*next, unit)}};
}

class Limits {
public:
    explicit Limits(const Circuit& circuit)
        : circuit_(circuit), parts_(circuit.parts), supply_(circuit.parts.supply_voltage.most),
          rail_(parts_.regulator_output.most > 0.0 ? parts_.regulator_output.most : supply_) {}

    std::vector<Finding> run() {
        const double gate = latch_gate();
        const TransistorLimits& latch = circuit_.latch;
        const TransistorLimits& release = circuit_.release;
        transistor("", false, supply_, circuit_.main_switch.drain_limit);
        transistor("latch", true, gate, latch.gate);
        transistor("latch", false, supply_, latch.drain);
        transistor("release", true, parts_.line_high.most, release.gate);
        transistor("release", false, gate, release.drain);
        current("latch", most_through_gate(), latch.current);
        current("release", through(rail_, parts_.feed_resistor.least), release.current);
        resistors();
        bleeder();
        const double rail = std::max(rail_, parts_.back_feed_voltage.most);
        const Ratings& ratings = circuit_.ratings;
        capacitor("hold", parts_.line_high.most, ratings.hold_capacitor, ratings.hold_derating);
        capacitor("rail", rail, ratings.rail_capacitor, rail_derating);
        return std::move(found_);
    }

private:
    /// With its pull-down the latch's gate gets a part of the rail only.
    [[nodiscard]] double latch_gate() const {
        const double pull = parts_.latch_pull.most;
        return pull == infinite ? rail_ : rail_ * pull / (pull + parts_.feed_resistor.least);
    }

    static double through(double volts, double ohms) { return ohms > 0.0 ? volts / ohms : 0.0; }

    /// What the latch takes down: through gate pull and series resistor, or past the Zener diode.
    [[nodiscard]] double most_through_gate() const {
        const double series = parts_.gate_series.least;
        const double zener = through(supply_ - parts_.gate_zener.least, series);
        return std::max(zener, through(supply_, parts_.gate_pull.least + series));
    }

    void transistor(const std::string& which, bool gate, double got, double limit) {
        if (limit <= 0.0 || got <= limit) {
            return;
        }
        const std::string words =
            which.empty() ? "the main switch" : "the " + which + " transistor";
        const std::string end = gate ? "gate" : "drain";
        found_.push_back(
            {Weight::failure,
             (which.empty() ? "" : which + "-") + end + "-limit",
             "Up to " + to_text(got, Unit::volt) + " are between " + end + " and source of " +
                 words + ", and it takes " + to_text(limit, Unit::volt) + ".",
             gate ? "a pull-down at that gate that divides the voltage, or another part"
                  : "a part that takes more between drain and source"});
    }

    void current(const std::string& which, double got, double limit) {
        if (limit > 0.0 && got > limit) {
            found_.push_back({Weight::failure,
                              which + "-current",
                              "Up to " + to_text(got, Unit::ampere) + " flow through the " + which +
                                  " transistor, and it takes " + to_text(limit, Unit::ampere) + ".",
                              "a larger resistor in its way, or another part"});
        }
    }

    struct Heat {
        const char* words;
        double watts;
    };

    /// U^2 / R of those that the supply or the line stands across, for as long as it may.
    [[nodiscard]] std::array<Heat, 10> heats() const {
        const auto across = [](double volts, const Spread& resistor) {
            return volts * through(volts, resistor.least);
        };
        const double line = parts_.line_high.most;
        const double series = parts_.series_resistor.least;
        const double charge = 0.5 * parts_.hold_capacitor.most * line * line;
        const double lasting = std::max(warming_up, series * parts_.hold_capacitor.most);
        const double on = line / std::max(series + parts_.bleed_resistor.least, 1e-3);
        const double gate = most_through_gate();
        const double pressed =
            through(supply_, parts_.button_resistor.least + parts_.gate_pull.least);
        const double drive = std::min(supply_, parts_.gate_zener.most);
        return {{{"the feed resistor", across(rail_, parts_.feed_resistor)},
                 {"the gate pull", across(drive, parts_.gate_pull)},
                 {"the resistor at the gate", gate * gate * parts_.gate_series.most},
                 {"the line's pull-up", across(line, parts_.line_pull)},
                 {"the release transistor's base", across(line, parts_.release_base)},
                 {"the button transistor's base", across(supply_, parts_.button_base)},
                 {"the latch's pull-down", across(latch_gate(), parts_.latch_pull)},
                 {"the series resistor", series > 0.0 ? charge / lasting + on * on * series : 0.0},
                 {"the bleed resistor", across(line, parts_.bleed_resistor)},
                 {"the button's resistor", pressed * pressed * parts_.button_resistor.most}}};
    }

    void resistors() {
        std::string words;
        double most = 0.0;
        for (const Heat& heat : heats()) {
            if (heat.watts > circuit_.ratings.resistor) {
                words += (words.empty() ? "" : ", ") + std::string(heat.words) + " " +
                         to_text(heat.watts, Unit::watt, 3);
                most = std::max(most, heat.watts);
            }
        }
        if (!words.empty()) {
            heat("resistor-heat",
                 "Resistors of " + to_text(circuit_.ratings.resistor, Unit::watt) +
                     " get more than they take: " + words + ".",
                 next_rating("resistor_rating", most, Unit::watt, common_watts));
        }
    }

    void bleeder() {
        const double watts = rail_ * rail_ / parts_.rail_bleeder.least;
        if (watts > circuit_.ratings.bleeder) {
            heat("bleeder-heat",
                 "The rail's bleeder gets " + to_text(watts, Unit::watt, 3) + ", and it takes " +
                     to_text(circuit_.ratings.bleeder, Unit::watt) + ".",
                 next_rating("bleeder_rating", watts, Unit::watt, common_watts));
        }
    }

    void heat(const char* id, std::string sentence, std::vector<Setting> settings) {
        std::string remedy = settings.empty()
                                 ? "larger values: no common part takes so much"
                                 : "a part of " + settings.front().text + ", or a larger value";
        found_.push_back(
            {Weight::failure, id, std::move(sentence), std::move(remedy), std::move(settings)});
    }

    void capacitor(const std::string& which, double got, double rating, double derating) {
        if (rating <= 0.0 || got <= derating * rating) {
            return;
        }
        const std::string key = which + "_capacitor_rating";
        std::vector<Setting> settings =
            next_rating(key.c_str(), got / derating, Unit::volt, common_volts);
        std::string remedy = settings.empty() ? "a part for " + to_text(got / derating, Unit::volt)
                                              : "a part for " + settings.front().text;
        found_.push_back({got > rating ? Weight::failure : Weight::warning,
                          which + "-capacitor-voltage",
                          "Up to " + to_text(got, Unit::volt) + " are across the " + which +
                              " capacitor of " + to_text(rating, Unit::volt) +
                              ", which is used at " + number_text(100.0 * derating) +
                              " % of that (common practice).",
                          std::move(remedy),
                          std::move(settings)});
    }

    const Circuit& circuit_;
    const Parts<Spread>& parts_;
    double supply_;
    double rail_;
    std::vector<Finding> found_;
};

}  // namespace

std::vector<Finding> limit_findings(const Circuit& circuit) {
    return Limits(circuit).run();
}

}  // namespace nightlatch::circuit
