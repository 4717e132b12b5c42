// SPDX-License-Identifier: MIT
#include "bounce/measure.hpp"

namespace nightlatch::bounce {
namespace {

/// 0: a single edge; else one more than the first bound that is not exceeded.
std::size_t bucket_of(const BounceEpisode& episode) noexcept {
    if (episode.edges <= 1) {
        return 0;
    }
    const auto& bounds = BounceTally::bounds;
    const auto* const found = std::lower_bound(bounds.begin(), bounds.end(), episode.length());
    return 1 + static_cast<std::size_t>(found - bounds.begin());
}

}  // namespace

void BounceTally::add(const BounceEpisode& episode) noexcept {
    ++times;
    clean += episode.edges <= 1 ? 1U : 0U;
    edges += episode.edges;
    most_edges = std::max(most_edges, episode.edges);
    lengths += episode.length();
    longest = std::max(longest, episode.length());
    longest_closed = std::max(longest_closed, episode.longest_closed);
    longest_open = std::max(longest_open, episode.longest_open);
    ++buckets[bucket_of(episode)];
}

Duration BounceTally::mean() const noexcept {
    return times == 0 ? Duration::zero() : lengths / static_cast<Duration::rep>(times);
}

BounceMeasure::BounceMeasure(Instant start, Level level, Duration quiet) noexcept
    : quiet_(quiet), raw_(level), last_(start) {}

std::optional<BounceEpisode> BounceMeasure::sample(const core::Sample& sample) noexcept {
    const Instant stamp = std::max(sample.stamp, last_);
    const std::optional<BounceEpisode> over = advance(stamp);
    const bool merged = sample.level == raw_;
    if (!episode_) {
        episode_ = BounceEpisode{stamp, stamp, raw_, raw_, 0, {}, {}};
    } else {
        Duration& longest =
            raw_ == Level::active ? episode_->longest_closed : episode_->longest_open;
        longest = std::max(longest, stamp - last_);
    }
    episode_->edges += merged ? 2U : 1U;
    report_.merged += merged ? 1U : 0U;
    report_.storm = storm_.count(stamp, merged ? 2U : 1U) || report_.storm;
    raw_ = sample.level;
    last_ = stamp;
    return over;
}

std::optional<BounceEpisode> BounceMeasure::advance(Instant now) noexcept {
    if (deadline() > now) {
        return std::nullopt;
    }
    return end_episode();
}

Instant BounceMeasure::deadline() const noexcept {
    return episode_ ? last_ + quiet_ : never;
}

std::optional<BounceEpisode> BounceMeasure::finish(Instant end) noexcept {
    if (!episode_ || deadline() <= end) {
        return advance(end);
    }
    report_.cut_short = std::max(end - last_, Duration::zero());
    return end_episode();
}

void BounceMeasure::resync(Instant at, Level level) noexcept {
    ++report_.lost;
    episode_.reset();
    raw_ = level;
    last_ = std::max(last_, at);
}

std::optional<Instant> BounceMeasure::under_way() const noexcept {
    return episode_ ? std::optional<Instant>(episode_->begin) : std::nullopt;
}

BounceEpisode BounceMeasure::end_episode() noexcept {
    BounceEpisode over = *episode_;
    over.last = last_;
    over.to = raw_;
    if (over.from == over.to) {
        report_.back.add(over);
    } else {
        (over.to == Level::active ? report_.press : report_.release).add(over);
    }
    episode_.reset();
    return over;
}

}  // namespace nightlatch::bounce
