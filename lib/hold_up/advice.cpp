// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "circuit/e_series.hpp"
#include "hold_up/assess.hpp"
#include "hold_up/keys.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

namespace nightlatch::hold_up {
namespace {

using circuit::to_text;

/// Reads back as the same spread.
std::string value_of(const Spread& spread, Unit unit) {
    return in_quotes(spread.is_exact()
                         ? to_text(spread.typical, unit)
                         : to_text(spread.least, unit) + ", " + to_text(spread.typical, unit) +
                               ", " + to_text(spread.most, unit));
}

Spread scaled(const Spread& spread, double factor) {
    return {spread.least * factor, spread.typical * factor, spread.most * factor};
}

/// What the last of two digits counts.
double step_of(double value) {
    return std::pow(10.0, std::floor(std::log10(value)) - 1.0);
}

double rounded_down(double value) {
    const double step = step_of(value);
    return std::floor(value / step * (1.0 + 1e-9)) * step;
}

double rounded_up(double value) {
    const double step = step_of(value);
    return std::ceil(value / step * (1.0 - 1e-9)) * step;
}

bool is_enough(const HoldUp& hold_up) {
    const Budget worst = worst_budget(hold_up);
    return worst.lasts > 0.0 && worst.margin >= hold_up.margin;
}

class Changes {
public:
    Changes(const HoldUp& hold_up, const Notice& notice)
        : hold_up_(hold_up), notice_(notice), worst_(worst_budget(hold_up)) {}

    std::vector<Change> run() {
        larger_capacity();
        shorter_lasting();
        smaller_load();
        lower_end();
        faster();
        return std::move(found_);
    }

private:
    void add(const HoldUp& changed, std::string words, std::string line) {
        if (is_enough(changed)) {
            found_.push_back({std::move(words), std::move(line), worst_budget(changed).margin});
        }
    }

    /// It lasts as long as its capacity is large.
    void larger_capacity() {
        if (worst_.lasts <= 0.0) {
            return;
        }
        const double need = worst_.noticed + worst_.going_down + hold_up_.margin;
        const double wanted = hold_up_.capacity.typical * need / worst_.lasts * (1.0 + 1e-9);
        const double next = hold_up_.unit == Unit::farad
                                ? circuit::next_up(wanted, circuit::Series::e6)
                                : rounded_up(wanted);
        HoldUp changed = hold_up_;
        changed.capacity = scaled(hold_up_.capacity, next / hold_up_.capacity.typical);
        const auto key = std::find_if(keys().begin(), keys().end(), [&](const Key& one) {
            return one.spread == &HoldUp::capacity && one.unit == hold_up_.unit;
        });
        if (changed.capacity.most <= key->range.most) {
            add(changed,
                "a capacity of " + to_text(next, hold_up_.unit) + " instead of " +
                    to_text(hold_up_.capacity.typical, hold_up_.unit) + " (at least " +
                    to_text(wanted, hold_up_.unit, 3) + ")",
                "capacity = " + value_of(changed.capacity, hold_up_.unit));
        }
    }

    void shorter_lasting() {
        const double allowed = worst_.lasts - worst_.going_down - hold_up_.margin;
        if (notice_.by == Notice::By::button || allowed <= std::max(notice_.least, 1e-3)) {
            return;
        }
        HoldUp changed = hold_up_;
        const double next = std::max(rounded_down(allowed), notice_.least);
        changed.noticed_after = Spread::exactly(next);
        const std::string text = to_text(next, Unit::second);
        if (notice_.by == Notice::By::alarm) {
            add(changed,
                "an alarm that lasts " + text + " instead of " +
                    to_text(hold_up_.noticed_after.most, Unit::second),
                "lasting = " + in_quotes(text));
        } else {
            add(changed, "noticed after " + text, "noticed_after = " + in_quotes(text));
        }
    }

    /// The largest factor below 1 with which `change` leaves the margin; 0 for none.
    double factor(const std::function<void(HoldUp&, double)>& change) const {
        const auto suffices = [&](double part) {
            HoldUp changed = hold_up_;
            change(changed, part);
            return is_enough(changed);
        };
        double low = 1e-3;
        double high = 1.0;
        if (!suffices(low)) {
            return 0.0;
        }
        for (int i = 0; i < 40; ++i) {
            const double middle = (low + high) / 2.0;
            (suffices(middle) ? low : high) = middle;
        }
        return low;
    }

    void smaller_load() {
        const bool by_power = hold_up_.power.most > 0.0;
        Spread HoldUp::*const load = by_power ? &HoldUp::power : &HoldUp::current;
        const Unit unit = by_power ? Unit::watt : Unit::ampere;
        const double part =
            factor([&](HoldUp& changed, double by) { changed.*load = scaled(hold_up_.*load, by); });
        if (part <= 0.0) {
            return;
        }
        HoldUp changed = hold_up_;
        const double most = rounded_down((hold_up_.*load).most * part);
        changed.*load = scaled(hold_up_.*load, most / (hold_up_.*load).most);
        add(changed,
            "at most " + to_text(most, unit) + " instead of " +
                to_text((hold_up_.*load).most, unit) + " while it goes down",
            std::string(by_power ? "power" : "current") + " = " + value_of(changed.*load, unit));
    }

    void lower_end() {
        const bool by_cut_out = hold_up_.cut_out.most >= hold_up_.to_voltage.most;
        Spread HoldUp::*const end = by_cut_out ? &HoldUp::cut_out : &HoldUp::to_voltage;
        if (!by_cut_out) {
            return;  // a cell's own limit is not a choice
        }
        const double part =
            factor([&](HoldUp& changed, double by) { changed.*end = scaled(hold_up_.*end, by); });
        constexpr double least = 0.3;  // V: no converter runs from less
        HoldUp changed = hold_up_;
        const double most = part > 0.0 ? rounded_down((hold_up_.*end).most * part) : 0.0;
        changed.*end = scaled(hold_up_.*end, most / (hold_up_.*end).most);
        if ((changed.*end).least < least) {
            return;
        }
        add(changed,
            "a converter that goes on down to " + to_text(most, Unit::volt) + " instead of " +
                to_text((hold_up_.*end).most, Unit::volt),
            "cut_out = " + value_of(changed.*end, Unit::volt));
    }

    void faster() {
        const double allowed = worst_.lasts - worst_.noticed - hold_up_.margin;
        if (allowed < 1e-2) {
            return;
        }
        HoldUp changed = hold_up_;
        const double next = rounded_down(allowed);
        changed.time_to_go_down = Spread::exactly(next);
        const std::string text = to_text(next, Unit::second);
        add(changed,
            "going down in " + text + " at most instead of " +
                to_text(hold_up_.time_to_go_down.most, Unit::second) +
                " (nightlatch logbook says what held it up)",
            "time_to_go_down = " + in_quotes(text));
    }

    const HoldUp& hold_up_;
    const Notice& notice_;
    Budget worst_;
    std::vector<Change> found_;
};

}  // namespace

std::vector<Change> changes_for(const HoldUp& hold_up, const Notice& notice) {
    return Changes(hold_up, notice).run();
}

}  // namespace nightlatch::hold_up
