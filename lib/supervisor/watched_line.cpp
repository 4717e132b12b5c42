// SPDX-License-Identifier: MIT
#include "supervisor/watched_line.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::supervisor {

namespace limits = core::limits;

void WatchedLine::open(const ports::LineRequest& request, core::ResyncWhy why) {
    const auto facts = around_.line.open(request);
    if (!facts) {
        tell_trouble(facts.error());
        around_.core.feed(core::LineGone{around_.clock.now(), index_});
        return;
    }
    open_ = true;
    reader_.restart();
    denied_once_ = false;
    around_.owner.line_opened(index_, *facts, !std::exchange(told_trouble_, {}).empty());
    around_.core.feed(core::LineOpened{around_.clock.now(), facts->sleeps, index_});
    resync(why);
}

void WatchedLine::close() {
    if (!open_) {
        return;
    }
    around_.owner.line_closing(index_);
    open_ = false;
    failing_since_ = never;
    retry_at_ = never;
    owed_.reset();
    thrown_away_ = 0;
    around_.line.close();
}

bool WatchedLine::drain() {
    if (owed_) {  // what comes before the Resync is of no use
        discard();
        return true;
    }
    for (int round = 0; round < EdgeReader::most_batches; ++round) {
        if (!open_ || !feed_batch()) {
            return true;
        }
    }
    return false;
}

/// True when there may be another. A gap consumes the whole batch.
bool WatchedLine::feed_batch() {
    bool gap = false;
    const auto read = [this](std::span<ports::LineEvent> into) { return around_.line.drain(into); };
    const auto take = [this, &gap](const ports::LineEvent& event, std::uint64_t dropped) {
        gap = gap || dropped != 0;
        if (gap) {
            ++thrown_away_;
        } else {
            around_.core.feed(core::Sample{event.stamp, event.level, index_});
        }
    };
    const auto count = reader_.read_batch(read, take);
    if (!count) {
        lose(count.error());
        return false;
    }
    if (gap) {
        around_.owner.edges_dropped(index_);
        resync(core::ResyncWhy::gap);
        return false;
    }
    if (*count == 0) {
        return false;
    }
    around_.owner.batch_fed();
    return open_ && !owed_;
}

void WatchedLine::read_level() {
    if (owed_) {
        resync(*owed_);
        return;
    }
    for (int round = 0; open_ && !owed_ && round < EdgeReader::most_batches; ++round) {
        const auto level = read();
        if (!level && open_ && index_ != core::button_line) {
            around_.core.feed(core::LevelRead{around_.clock.now(), std::nullopt, index_});
        }
        if (!level) {
            return;
        }
        const std::uint64_t before = reader_.seqno();
        drain();
        if (open_ && !owed_ && reader_.seqno() == before) {
            around_.core.feed(core::LevelRead{around_.clock.now(), *level, index_});
            return;
        }
    }
}

void WatchedLine::resync(core::ResyncWhy why) {
    owed_ = why;
    for (int round = 1;; ++round) {
        const auto before = discard();
        const Instant at = around_.clock.now();
        const auto level = before ? read() : std::nullopt;
        const auto after = level ? discard() : std::nullopt;
        if (!after) {
            return;  // lost, or to be read again
        }
        if (*after == 0 || round == EdgeReader::most_batches) {
            owed_.reset();
            const auto edges = static_cast<std::uint32_t>(std::exchange(thrown_away_, 0));
            around_.core.feed(core::Resync{at, *level, why, edges, index_});
            return;
        }
    }
}

void WatchedLine::check() {
    if (owed_) {
        resync(*owed_);
    } else if (open_) {
        read();
    }
}

/// Nothing when it failed: the line is lost then, or is to be read again.
std::optional<Level> WatchedLine::read() {
    const auto level = around_.line.level();
    retry_at_ = never;
    if (level) {
        failing_since_ = never;
        return *level;
    }
    const Instant now = around_.clock.now();
    failing_since_ = std::min(failing_since_, now);
    const Instant given_up = failing_since_ + limits::failure_patience;
    if (level.error().trouble == Trouble::gone || now >= given_up) {
        lose(level.error());
    } else {
        retry_at_ = std::min(now + limits::read_again, given_up);
    }
    return std::nullopt;
}

/// How many edges were thrown away; nothing when the line was lost.
std::optional<std::size_t> WatchedLine::discard() {
    const std::size_t before = thrown_away_;
    const auto drained =
        reader_.drain([this](std::span<ports::LineEvent> into) { return around_.line.drain(into); },
                      [this](const ports::LineEvent&, std::uint64_t) { ++thrown_away_; });
    if (!drained) {
        lose(drained.error());
        return std::nullopt;
    }
    return thrown_away_ - before;
}

void WatchedLine::lose(const Error& error) {
    close();
    tell_trouble(error);
    around_.core.feed(core::LineGone{around_.clock.now(), index_});
}

void WatchedLine::tell_trouble(const Error& error) {
    const bool too_soon = error.trouble == Trouble::denied && !std::exchange(denied_once_, true);
    const bool news = !too_soon && error.text != told_trouble_;
    if (news) {
        told_trouble_ = error.text;
    }
    around_.owner.line_trouble(index_, error, news);
}

}  // namespace nightlatch::supervisor
