// SPDX-License-Identifier: MIT
#include "circuit/transient.hpp"

#include "circuit/hold_node.hpp"
#include "circuit/rail_node.hpp"

#include <algorithm>

namespace nightlatch::circuit {
namespace {

/// Many more than any circuit has; a guard against rounding that flips between two pieces.
constexpr int most_events = 400;

constexpr int pictured_steps = 96;
constexpr double pictured_at_most = 100.0;  // s

enum class Event : unsigned char {
    none,
    of_the_hold_node,
    of_the_rail_node,
    line_edge,
    line_dies,
    release,
    let_go,
    rail_low,
    switch_opens,
};

/// V that the capacitor may have more than computed: below its first published drop a real diode
/// drops less, by some 60 mV a decade of current (common practice, no source).
constexpr double straight_diode = 0.03;

/// Release transistor, latch and main switch, and the line with its pulses, about the two nodes.
class Run {
public:
    Run(const Values& values, const Stages& stages, std::vector<TracePoint>* trace)
        : parts_(values.parts), pulses_(values.pulses), stages_(stages),
          dead_level_(nightlatch::circuit::dead_level(values, stages_)), hold_(values, stages_),
          rail_(values, stages_), held_up_(rail_.rests_at() > stages_.latch_level),
          gate_(stages_.gate_drive), trace_(trace) {}

    Transient run() {
        result_.rail_on = rail_.voltage();
        result_.latch_level = stages_.latch_level;
        result_.release_level = stages_.release_level;
        result_.release_begins = stages_.release_begins;
        if (rail_.voltage() <= stages_.staying_level || !rail_.is_drawing() ||
            gate_ <= stages_.gate_opens) {
            result_.outcome = Outcome::never_on;
            return result_;
        }
        if (rail_.voltage() <= dead_level_) {
            return result_;  // a line that never lives releases nothing
        }
        hold_.set_line(line());
        for (int i = 0; i < most_events && !done_; ++i) {
            find_next();
            if (next_ == Event::none) {
                finish_at_rest();
                break;
            }
            picture();
            move(step_);
            handle();
        }
        result_.margin =
            result_.rail_fall == infinite ? -infinite : result_.hold_off - result_.rail_fall;
        return result_;
    }

private:
    [[nodiscard]] double line() const { return !dead_ && phase_ != 1 ? parts_.line_high : 0.0; }

    void consider(double after, Event event) {
        if (after < step_) {
            step_ = after;
            next_ = event;
        }
    }

    void find_next() {
        step_ = infinite;
        next_ = Event::none;
        if (!dead_ && phase_ < 2) {
            const double edge = pulses_.active + (phase_ == 1 ? pulses_.inactive : 0.0);
            consider(edge - time_, Event::line_edge);
        }
        hold_next_ = hold_.next();
        consider(hold_next_.after, Event::of_the_hold_node);
        // Below its level already it lets go as soon as the capacitor is not charged any more.
        consider(released_ ? hold_.stage().falls_to(hold_.voltage(), stages_.release_level)
                           : hold_.stage().rises_to(hold_.voltage(), stages_.release_begins),
                 released_ ? Event::let_go : Event::release);
        find_rail_events();
        if (main_on_ && !latched_) {
            consider(gate_delay(), Event::switch_opens);
        }
    }

    void find_rail_events() {
        if (!dead_) {
            consider(rail_.stage().falls_to(rail_.voltage(), dead_level_), Event::line_dies);
        }
        rail_next_ = rail_.next();
        consider(rail_next_.after, Event::of_the_rail_node);
        if (!main_on_ && !held_up_ && result_.rail_fall == infinite) {
            consider(rail_.stage().falls_to(rail_.voltage(), stages_.latch_level), Event::rail_low);
        }
    }

    [[nodiscard]] double gate_delay() const {
        return gate_ <= stages_.gate_opens
                   ? 0.0
                   : stages_.gate_time * std::log(gate_ / stages_.gate_opens);
    }

    void move(double seconds) {
        hold_.move(seconds);
        rail_.move(seconds);
        if (!latched_ && stages_.gate_time > 0.0) {
            gate_ *= std::exp(-seconds / stages_.gate_time);
        }
        time_ += seconds;
    }

    void picture() {
        if (trace_ == nullptr) {
            return;
        }
        const double end = std::min(step_, pictured_at_most);
        trace_->reserve(trace_->size() + pictured_steps + 1);
        for (int i = 0; i <= pictured_steps; ++i) {
            Run there = *this;
            const double part = static_cast<double>(i) / pictured_steps;
            there.move(end * part * part);  // an exponential bends at its beginning
            trace_->push_back(
                {there.time_, line(), there.hold_.voltage(), there.rail_.voltage(), there.gate_});
        }
    }

    void handle() {
        switch (next_) {
        case Event::of_the_hold_node:
            return hold_.pass(hold_next_.event);
        case Event::of_the_rail_node:
            return rail_.pass(rail_next_.event);
        case Event::line_edge:
            ++phase_;
            return hold_.set_line(line());
        case Event::line_dies:
            return on_line_dies();
        case Event::release:
            return on_release();
        case Event::let_go:
            return on_let_go();
        case Event::rail_low:
            result_.rail_fall = time_ - result_.opened_at;
            return;
        case Event::switch_opens:
            return on_open();
        case Event::none:
            return;
        }
    }

    void on_line_dies() {
        dead_ = true;
        result_.hold_voltage = hold_.voltage();
        rail_.set_voltage(dead_level_);
        if (dead_level_ == parts_.cut_out && rail_.is_drawing()) {
            rail_.pass(RailNode::Event::cut_out);
        }
        hold_.set_line(line());
    }

    void on_release() {
        hold_.set_voltage(std::max(hold_.voltage(), stages_.release_begins));
        released_ = true;
        rail_.set_released(true);
        if (rail_.voltage() > stages_.released_level) {
            return;  // it cannot pull the latch's gate low enough
        }
        latched_ = false;
        result_.released_at = time_;
        if (stages_.gate_time <= 0.0) {
            gate_ = 0.0;
        }
    }

    void on_open() {
        main_on_ = false;
        result_.pulse = phase_ == 2 ? 2 : 1;
        result_.opened_at = time_;
        rail_.set_main_switch(false);
    }

    void on_let_go() {
        const bool sure = hold_.voltage() >= stages_.release_level * (1.0 - 1e-9);
        if (!sure && main_on_ && !latched_) {
            on_open();  // a real one may have
        }
        hold_.set_voltage(std::min(hold_.voltage(), stages_.release_level));
        released_ = false;
        rail_.set_released(false);
        if (main_on_ && latched_) {
            return;
        }
        if (main_on_ && dead_) {
            done_ = true;  // too late for the line, too early for the switch
            latched_ = true;
            result_.released_at = infinite;
            return;
        }
        const bool again = main_on_ || rail_.voltage() > stages_.latch_level;
        if (again && !dead_ && sure) {
            relatch();  // the processor lives, and the kernel's next active level tries once more
            return;
        }
        result_.hold_off = time_ - result_.opened_at;
        result_.rail_margin = stages_.latch_level - rail_.voltage();
        result_.outcome = again || held_up_ ? Outcome::comes_back : Outcome::stays_off;
        if (again) {
            Run back = *this;
            back.picture_coming_back();
            result_.rail_fall = result_.hold_off + rest_of_fall();
        }
        result_.rail_settles = rail_.rests_at();
        done_ = true;
    }

    void picture_coming_back() {
        relatch();
        step_ = 0.2 * (time_ + 0.05);
        picture();
    }

    void relatch() {
        const Transient fresh;
        result_.pulse = fresh.pulse;
        result_.released_at = fresh.released_at;
        result_.opened_at = fresh.opened_at;
        result_.rail_fall = fresh.rail_fall;
        latched_ = true;
        main_on_ = true;
        gate_ = stages_.gate_drive;
        rail_.set_main_switch(true);
    }

    /// Seconds in which the rail would still fall to the latch level were it left alone.
    double rest_of_fall() {
        constexpr int most_rail_events = 4;
        double rest = 0.0;
        for (int i = 0; i < most_rail_events; ++i) {
            step_ = infinite;
            next_ = Event::none;
            find_rail_events();
            rest += step_;
            if (next_ != Event::of_the_rail_node) {
                return rest;  // infinite when nothing comes
            }
            rail_.move(step_);
            rail_.pass(rail_next_.event);
        }
        return infinite;
    }

    /// Nothing happens any more.
    void finish_at_rest() {
        if (main_on_) {
            const double settles = hold_.stage().settles();
            result_.hold_voltage =
                std::isfinite(settles) ? std::max(settles, 0.0) : hold_.voltage();
            result_.outcome = Outcome::never_releases;
            return;
        }
        result_.rail_settles = rail_.rests_at();
        result_.hold_off = infinite;
        result_.rail_margin = stages_.latch_level - result_.rail_settles;
        result_.outcome = result_.rail_fall == infinite ? Outcome::comes_back : Outcome::stays_off;
    }

    const Parts<double>& parts_;
    PulseTrain pulses_;
    Stages stages_;
    double dead_level_;  // rail below which the line is dead
    HoldNode hold_;
    RailNode rail_;
    bool held_up_;  // from outside, above the latch's level, for ever

    double time_ = 0.0;
    double gate_;
    int phase_ = 0;  // 0 active, 1 inactive, 2 active for ever
    bool dead_ = false;
    bool released_ = false;
    bool latched_ = true;
    bool main_on_ = true;
    bool done_ = false;

    double step_ = 0.0;
    Event next_ = Event::none;
    HoldNode::Next hold_next_;
    RailNode::Next rail_next_;
    std::vector<TracePoint>* trace_;
    Transient result_;
};

}  // namespace

double dead_level(const Values& values, const Stages& stages) {
    const Parts<double>& parts = values.parts;
    if (parts.line_dies > 0.0) {
        return parts.line_dies;
    }
    const bool steps_down = stages.rail_on > parts.line_high;
    return steps_down ? std::max(parts.cut_out, parts.line_high) : parts.cut_out;
}

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
    Stages stages = stages_of(values);
    Stages published = stages;
    published.release_begins = stages.release_level;
    const Transient late = Run(values, published, trace).run();
    if (late.outcome != Outcome::stays_off || late.pulse != 2) {
        return late;
    }
    stages.release_begins = std::max(stages.release_begins - straight_diode, 0.01);
    const Transient early = Run(values, stages, nullptr).run();
    if (early.pulse == 2 || early.margin >= late.margin) {
        return late;
    }
    if (trace != nullptr) {
        trace->clear();
    }
    return Run(values, stages, trace).run();
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
