// SPDX-License-Identifier: MIT
#include "circuit/transient.hpp"

#include "circuit/line_source.hpp"
#include "circuit/stage.hpp"

#include <algorithm>
#include <tuple>

namespace nightlatch::circuit {
namespace {

/// Input capacitance of a small MOSFET, what is left when the hold capacitor is missing: 27 pF
/// [BSS138 data sheet, Ciss].
constexpr double input_capacitance = 27e-12;

/// Many more than any circuit has; a guard against rounding that flips between two pieces.
constexpr int most_events = 400;

constexpr int pictured_steps = 24;

/// Part of the rail's voltage at the latch transistor's gate, with `below` ohm from it to ground.
double share_at_latch(const Parts<double>& parts, double below) {
    if (parts.feed_resistor <= 0.0 || below == infinite) {
        return 1.0;
    }
    return below / (below + parts.feed_resistor);
}

enum class Event : unsigned char {
    none,
    line_edge,
    piece_up,
    piece_down,
    empty,
    release,
    let_go,
    line_dies,
    cut_out,
    back_feed,
    rail_low,
    switch_opens,
};

class Run {
public:
    Run(const Values& values, std::vector<TracePoint>* trace)
        : parts_(values.parts), pulses_(values.pulses), path_(std::max(values.supply_path, 1e-3)),
          bridged_(values.diode.count == 0),
          source_(values, parts_.line_resistance, parts_.line_current), trace_(trace) {
        under_ = 1.0 / (1.0 / parts_.latch_pull + 1.0 / std::max(parts_.release_resistance, 1e-3));
        level_ = parts_.latch_threshold / share_at_latch(parts_, parts_.latch_pull);
        released_level_ = parts_.latch_threshold / share_at_latch(parts_, under_);
        dead_level_ = std::max(parts_.cut_out, parts_.line_high);
        held_up_ = rail_rests_at() > level_;
    }

    Transient run() {
        if (!begins()) {
            result_.outcome = Outcome::never_on;
            return result_;
        }
        set_line();
        for (int i = 0; i < most_events && !done_; ++i) {
            find_next();
            if (next_ == Event::none) {
                finish_at_rest();
                break;
            }
            advance();
            handle();
        }
        result_.margin = result_.hold_off - result_.rail_fall;
        if (result_.hold_off == infinite && result_.rail_fall == infinite) {
            result_.margin = -infinite;
        }
        return result_;
    }

private:
    bool begins() {
        rail_ = rail_stage().settles();
        load_off_ = rail_ < parts_.cut_out;
        result_.rail_on = rail_;
        result_.latch_level = level_;
        gate_ = parts_.supply_voltage;
        update_rail();
        return rail_ > level_ && !load_off_ && gate_ > parts_.main_threshold;
    }

    [[nodiscard]] double line() const { return !dead_ && phase_ != 1 ? parts_.line_high : 0.0; }

    void set_line() {
        piece_ = source_.piece_at(line() - hold_);
        update_hold();
    }

    [[nodiscard]] double hold_capacitance() const {
        return parts_.hold_capacitor + input_capacitance;
    }

    void update_hold() {
        const LineSource::Piece& piece = source_.piece(piece_);
        const double leakage = parts_.hold_leakage + (bridged_ ? 0.0 : parts_.diode_leakage);
        hold_stage_ = {hold_capacitance(),
                       piece.slope * line() - piece.offset - leakage,
                       piece.slope + 1.0 / parts_.bleed_resistor};
        if (hold_ <= 0.0 && hold_stage_.net(hold_) < 0.0) {
            hold_stage_.current = hold_stage_.conductance = 0.0;  // leakage ends with the charge
        }
    }

    [[nodiscard]] Stage rail_stage() const {
        Stage stage{parts_.rail_capacitance, 0.0, 1.0 / parts_.rail_bleeder};
        stage.conductance +=
            1.0 / (parts_.feed_resistor + (released_ ? under_ : parts_.latch_pull));
        if (main_on_) {
            stage.current += parts_.supply_voltage / path_;
            stage.conductance += 1.0 / path_;
        }
        if (load_off_) {
            stage.conductance += parts_.rail_leakage / parts_.cut_out;
        } else {
            stage.current -= parts_.halt_current;
        }
        if (feeding_) {
            const double into_short = parts_.back_feed_current;
            stage.current += into_short;
            stage.conductance += into_short / parts_.back_feed_voltage;
        }
        return stage;
    }

    void update_rail() {
        feeding_ = parts_.back_feed_current > 0.0 && rail_ < parts_.back_feed_voltage;
        rail_stage_ = rail_stage();
    }

    void consider(double after, Event event) {
        if (after < step_) {
            step_ = after;
            next_ = event;
        }
    }

    void find_next() {
        step_ = infinite;
        next_ = Event::none;
        find_line_edge();
        find_hold_events();
        find_rail_events();
        if (main_on_ && !latched_) {
            consider(gate_delay(), Event::switch_opens);
        }
    }

    void find_line_edge() {
        if (dead_ || phase_ == 2) {
            return;
        }
        const double edge = pulses_.active + (phase_ == 1 ? pulses_.inactive : 0.0);
        consider(edge - time_, Event::line_edge);
    }

    void find_hold_events() {
        if (piece_ > 0) {
            consider(hold_stage_.rises_to(hold_, line() - source_.piece(piece_).from),
                     Event::piece_down);
        }
        if (piece_ + 1 < source_.size()) {
            consider(hold_stage_.falls_to(hold_, line() - source_.piece(piece_ + 1).from),
                     Event::piece_up);
        }
        if (hold_ > 0.0) {
            consider(hold_stage_.falls_to(hold_, 0.0), Event::empty);
        }
        if (released_) {
            consider(hold_stage_.falls_to(hold_, parts_.release_threshold), Event::let_go);
        } else {
            consider(hold_stage_.rises_to(hold_, parts_.release_threshold), Event::release);
        }
    }

    void find_rail_events() {
        if (!dead_) {
            consider(rail_stage_.falls_to(rail_, dead_level_), Event::line_dies);
        }
        if (!load_off_) {
            consider(rail_stage_.falls_to(rail_, parts_.cut_out), Event::cut_out);
        }
        if (parts_.back_feed_current > 0.0) {
            consider(feeding_ ? rail_stage_.rises_to(rail_, parts_.back_feed_voltage)
                              : rail_stage_.falls_to(rail_, parts_.back_feed_voltage),
                     Event::back_feed);
        }
        if (!main_on_ && !held_up_ && result_.rail_fall == infinite) {
            consider(rail_stage_.falls_to(rail_, level_), Event::rail_low);
        }
    }

    [[nodiscard]] double gate_time() const {
        return parts_.gate_pull * (parts_.gate_capacitance + parts_.drain_capacitance);
    }

    [[nodiscard]] double gate_delay() const {
        return gate_ <= parts_.main_threshold
                   ? 0.0
                   : gate_time() * std::log(gate_ / parts_.main_threshold);
    }

    void advance() {
        if (trace_ != nullptr) {
            picture();
        }
        move(step_);
    }

    void move(double step) {
        hold_ = hold_stage_.after(hold_, step);
        rail_ = rail_stage_.after(rail_, step);
        if (!latched_ && gate_time() > 0.0) {
            gate_ *= std::exp(-step / gate_time());
        }
        time_ += step;
    }

    void picture() {
        const auto [hold, rail, gate, time] = std::tuple{hold_, rail_, gate_, time_};
        const double end = std::min(step_, 100.0);
        trace_->reserve(trace_->size() + pictured_steps + 1);
        for (int i = 0; i <= pictured_steps; ++i) {
            std::tie(hold_, rail_, gate_, time_) = std::tuple{hold, rail, gate, time};
            move(end * i / pictured_steps);
            trace_->push_back({time_, line(), hold_, rail_, gate_});
        }
        std::tie(hold_, rail_, gate_, time_) = std::tuple{hold, rail, gate, time};
    }

    void handle() {
        switch (next_) {
        case Event::line_edge:
            ++phase_;
            return set_line();
        case Event::piece_up:
            return change_piece(piece_ + 1);
        case Event::piece_down:
            return change_piece(piece_ - 1);
        case Event::empty:
            hold_ = 0.0;
            return update_hold();
        case Event::release:
            return on_release();
        case Event::let_go:
            return on_let_go();
        case Event::line_dies:
            return on_line_dies();
        case Event::cut_out:
            return on_cut_out();
        case Event::back_feed:
            return on_back_feed();
        case Event::rail_low:
            result_.rail_fall = time_ - result_.opened_at;
            return;
        case Event::switch_opens:
            return on_open();
        case Event::none:
            return;
        }
    }

    void change_piece(std::size_t piece) {
        hold_ = line() - source_.piece(std::max(piece, piece_)).from;
        piece_ = piece;
        update_hold();
    }

    void on_release() {
        hold_ = parts_.release_threshold;
        released_ = true;
        update_rail();
        if (rail_ > released_level_) {
            return;  // it cannot pull the latch's gate low enough
        }
        latched_ = false;
        result_.released_at = time_;
        if (gate_time() <= 0.0) {
            gate_ = 0.0;
        }
    }

    void on_open() {
        main_on_ = false;
        result_.pulse = phase_ == 2 ? 2 : 1;
        result_.opened_at = time_;
        result_.rail_fall = rail_ <= level_ ? 0.0 : infinite;
        update_rail();
    }

    void on_line_dies() {
        rail_ = dead_level_;
        dead_ = true;
        result_.hold_voltage = hold_;
        if (dead_level_ == parts_.cut_out) {
            load_off_ = true;
        }
        update_rail();
        set_line();
    }

    void on_cut_out() {
        rail_ = parts_.cut_out;
        load_off_ = true;
        update_rail();
    }

    void on_back_feed() {
        rail_ = parts_.back_feed_voltage;
        feeding_ = !feeding_;
        rail_stage_ = rail_stage();
    }

    void on_let_go() {
        hold_ = parts_.release_threshold;
        released_ = false;
        update_rail();
        if (main_on_ && latched_) {
            return;
        }
        const bool again = main_on_ || rail_ > level_;
        if (again && !dead_) {
            relatch();  // the processor lives, and the kernel's next active level tries once more
            return;
        }
        result_.hold_off = time_ - result_.opened_at;
        result_.outcome = again || held_up_ ? Outcome::comes_back : Outcome::stays_off;
        if (again && trace_ != nullptr) {
            picture_coming_back();
        }
        if (again) {
            result_.rail_fall = result_.hold_off + rest_of_fall();
        }
        result_.rail_settles = rail_rests_at();
        done_ = true;
    }

    void picture_coming_back() {
        const Run before = *this;
        relatch();
        step_ = 0.2 * (time_ + 0.05);
        picture();
        const Transient result = before.result_;
        main_on_ = false;
        latched_ = false;
        load_off_ = before.load_off_;
        result_ = result;
        update_rail();
    }

    void relatch() {
        const Transient fresh;
        result_.pulse = fresh.pulse;
        result_.released_at = fresh.released_at;
        result_.opened_at = fresh.opened_at;
        result_.rail_fall = fresh.rail_fall;
        latched_ = true;
        main_on_ = true;
        gate_ = parts_.supply_voltage;
        update_rail();
    }

    /// Seconds in which the rail would still fall to the latch level were it left alone.
    double rest_of_fall() {
        double rest = 0.0;
        for (int i = 0; i < 4; ++i) {
            step_ = infinite;
            next_ = Event::none;
            find_rail_events();
            if (next_ == Event::none) {
                return infinite;
            }
            rest += step_;
            if (next_ == Event::rail_low) {
                return rest;
            }
            rail_ = rail_stage_.after(rail_, step_);
            next_ == Event::cut_out ? on_cut_out() : on_back_feed();
        }
        return infinite;
    }

    [[nodiscard]] double rail_rests_at() const {
        Stage stage{parts_.rail_capacitance, 0.0, 1.0 / parts_.rail_bleeder};
        stage.conductance += 1.0 / (parts_.feed_resistor + parts_.latch_pull);
        stage.conductance += parts_.rail_leakage / parts_.cut_out;
        if (parts_.back_feed_current > 0.0) {
            stage.current = parts_.back_feed_current;
            stage.conductance += parts_.back_feed_current / parts_.back_feed_voltage;
        }
        return stage.current > 0.0 ? stage.settles() : 0.0;
    }

    /// Nothing happens any more.
    void finish_at_rest() {
        if (main_on_) {
            result_.hold_voltage = hold_stage_.settles();
            result_.outcome = Outcome::never_releases;
            return;
        }
        result_.rail_settles = rail_rests_at();
        result_.hold_off = infinite;
        result_.outcome = result_.rail_fall == infinite ? Outcome::comes_back : Outcome::stays_off;
    }

    const Parts<double>& parts_;
    PulseTrain pulses_;
    double path_;
    bool bridged_;
    LineSource source_;
    std::vector<TracePoint>* trace_;

    double level_ = 0.0;  // rail at which the latch is on, the release transistor being off
    double released_level_ = 0.0;  // the same with the release transistor on
    double dead_level_ = 0.0;
    double under_ = 0.0;  // ohm from the latch transistor's gate to ground while released

    double time_ = 0.0;
    double hold_ = 0.0;
    double rail_ = 0.0;
    double gate_ = 0.0;
    Stage hold_stage_;
    Stage rail_stage_;
    std::size_t piece_ = 0;
    int phase_ = 0;         // 0 active, 1 inactive, 2 active for ever
    bool held_up_ = false;  // from outside, above the latch's level, for ever
    bool dead_ = false;
    bool load_off_ = false;
    bool feeding_ = false;
    bool released_ = false;
    bool latched_ = true;
    bool main_on_ = true;
    bool done_ = false;

    double step_ = 0.0;
    Event next_ = Event::none;
    Transient result_;
};

}  // namespace

std::string_view text_of(Outcome outcome) noexcept {
    switch (outcome) {
    case Outcome::stays_off:
        return "stays off";
    case Outcome::comes_back:
        return "comes back";
    case Outcome::never_releases:
        return "never lets go";
    case Outcome::never_on:
        return "does not stay on";
    }
    return "";
}

Transient simulate(const Values& values, std::vector<TracePoint>* trace) {
    return Run(values, trace).run();
}

double shortest_pulse(const Values& values) {
    Values once = values;
    once.pulses.inactive = infinite;
    const auto suffices = [&](double length) {
        once.pulses.active = length;
        return simulate(once).outcome == Outcome::stays_off;
    };
    double high = 1e-6;
    while (!suffices(high)) {
        high *= 2.0;
        if (high > 100.0) {
            return infinite;
        }
    }
    double low = high / 2.0;
    while (high - low > high * 1e-3) {
        const double middle = (low + high) / 2.0;
        (suffices(middle) ? high : low) = middle;
    }
    return high;
}

double discharge_time(double from, double to, double ohms, double farads) {
    return from > to ? ohms * farads * std::log(from / to) : 0.0;
}

}  // namespace nightlatch::circuit
