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
    } else if (level_ != level && edges_.size() == most_edges_) {
        too_many_ = true;
    } else if (level_ != level) {
        edges_.push_back({at, level});
    }
    level_ = level;
}

void Samples::close() {
    if (latest_) {
        settle();
        latest_.reset();
    }
}

std::string Samples::too_many_text() const {
    return "more than " + std::to_string(most_edges_) +
           " edges, which is a recording's most: cut it, or choose another signal";
}

std::optional<Capture> Samples::capture(std::string signal, Duration end) && {
    NIGHTLATCH_ENSURE(!latest_);
    if (!start_) {
        return std::nullopt;
    }
    return Capture{std::move(signal), *start_, std::move(edges_), end, unknown_};
}

}  // namespace nightlatch::wave
