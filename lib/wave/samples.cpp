// SPDX-License-Identifier: MIT
#include "wave/samples.hpp"

#include "base/ensure.hpp"

#include <utility>

namespace nightlatch::wave {

void Samples::add(Duration at, std::optional<Level> level) {
    NIGHTLATCH_ENSURE(!latest_ || latest_->at <= at);
    if (latest_ && latest_->at != at) {
        settle();
    }
    latest_ = Sample{at, level};
}

/// Counts a stretch of unknown levels once, however often it is written.
void Samples::settle() {
    const Sample sample = *latest_;
    if (!any_ && sample.at > Duration::zero()) {
        known_ = false;  // nothing was said from the start on
        ++unknown_;
    }
    any_ = true;
    if (sample.level) {
        edge_to(*sample.level, sample.at);
    } else if (known_) {
        ++unknown_;
    }
    known_ = sample.level.has_value();
}

void Samples::edge_to(Level level, Duration at) {
    if (!start_) {
        start_ = level;
    } else if (level_ != level && edges_.size() == most_edges) {
        too_many_ = true;
    } else if (level_ != level) {
        edges_.push_back({at, level});
    }
    level_ = level;
}

std::optional<Capture> Samples::capture(std::string signal, Duration end) && {
    if (latest_) {
        settle();
        latest_.reset();
    }
    if (!start_) {
        return std::nullopt;
    }
    return Capture{std::move(signal), *start_, std::move(edges_), end, unknown_};
}

}  // namespace nightlatch::wave
