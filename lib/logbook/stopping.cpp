// SPDX-License-Identifier: MIT
#include "logbook/stopping.hpp"

#include <algorithm>
#include <map>
#include <utility>

namespace nightlatch::logbook {
namespace {

// What stops everything waits for everything, and a mount or a slice only for what is in it.
bool may_hold_up(const std::string& unit) {
    return unit.ends_with(".service") || unit.ends_with(".scope");
}

class Reading {
public:
    void take(const StopLine& line) {
        switch (line.what) {
        case StopLine::What::stopping:
            since_.try_emplace(line.unit, line.at);
            break;
        case StopLine::What::stopped:
            take_stopped(line);
            break;
        case StopLine::What::timed_out:
            take_timed_out(line.unit);
            break;
        case StopLine::What::reached:
            found_.reached = line.unit;
            break;
        }
    }

    Stopping found() && {
        for (const auto& [unit, at] : since_) {
            if (may_hold_up(unit)) {
                found_.unfinished.push_back(unit);
            }
        }
        return std::move(found_);
    }

private:
    void take_stopped(const StopLine& line) {
        const auto begun = since_.find(line.unit);
        if (begun == since_.end()) {
            return;
        }
        const Duration took = line.at - begun->second;
        if (may_hold_up(line.unit) && took > found_.took) {
            found_.slowest = line.unit;
            found_.took = took;
        }
        since_.erase(begun);
    }

    void take_timed_out(const std::string& unit) {
        auto& units = found_.timed_out;
        if (std::find(units.begin(), units.end(), unit) == units.end()) {
            units.push_back(unit);
        }
    }

    Stopping found_;
    std::map<std::string, Instant> since_;  ///< units that were told to stop
};

}  // namespace

Stopping stopping_of(std::span<const StopLine> lines) {
    Reading reading;
    for (const StopLine& line : lines) {
        reading.take(line);
    }
    return std::move(reading).found();
}

}  // namespace nightlatch::logbook
