// SPDX-License-Identifier: MIT
#include "logbook/stopping.hpp"

#include <algorithm>
#include <map>

namespace nightlatch::logbook {
namespace {

bool is_a_stop_of_ours(const std::string& unit) {
    // What stops everything waits for everything, and a mount or a slice only for what is in it.
    return unit.ends_with(".service") || unit.ends_with(".scope");
}

}  // namespace

Stopping stopping_of(std::span<const StopLine> lines) {
    Stopping found;
    std::map<std::string, Instant> since;
    for (const StopLine& line : lines) {
        switch (line.what) {
        case StopLine::What::stopping:
            since.try_emplace(line.unit, line.at);
            break;
        case StopLine::What::stopped:
            if (const auto begun = since.find(line.unit); begun != since.end() &&
                                                          is_a_stop_of_ours(line.unit) &&
                                                          line.at - begun->second > found.took) {
                found.slowest = line.unit;
                found.took = line.at - begun->second;
            }
            since.erase(line.unit);
            break;
        case StopLine::What::timed_out:
            if (std::find(found.timed_out.begin(), found.timed_out.end(), line.unit) ==
                found.timed_out.end()) {
                found.timed_out.push_back(line.unit);
            }
            break;
        case StopLine::What::reached:
            found.reached = line.unit;
            break;
        }
    }
    for (const auto& [unit, at] : since) {
        if (is_a_stop_of_ours(unit)) {
            found.unfinished.push_back(unit);
        }
    }
    return found;
}

}  // namespace nightlatch::logbook
