// SPDX-License-Identifier: MIT
#include "core/line.hpp"

#include <algorithm>

namespace nightlatch::core {

void Line::set(const Settings& settings) noexcept {
    limits_ = &settings.limits;
    debounce_.set_intervals(settings.press_interval, settings.release_interval);
    readability_.set(settings.limits, std::max(settings.press_interval, settings.release_interval));
}

// --- what comes in -------------------------------------------------------------------------------

EdgeIs Line::judge(const Sample& sample) const noexcept {
    if (life_ != Life::open) {
        return EdgeIs::unwanted;
    }
    if (sample.stamp < debounce_.last_sample()) {
        return EdgeIs::out_of_order;
    }
    if (sample.stamp < settled_at_) {
        return EdgeIs::overtaken;
    }
    return sample.stamp > contradiction_ ? EdgeIs::unexplained : EdgeIs::good;
}

bool Line::sample(const Sample& sample) noexcept {
    debounce_.sample(sample);
    return readability_.edges(sample.stamp, 1);
}

void Line::opened(const LineOpened& opened) noexcept {
    sleeps_ = opened.sleeps;
    newly_open_ = true;
}

bool Line::resync(const Resync& resync) noexcept {
    if (newly_open_) {
        readability_.opened(resync.at);
        newly_open_ = false;
    }
    life_ = Life::open;
    unreadable_ = false;
    retry_at_ = never;
    contradiction_ = never;
    debounce_.reset(resync.at, resync.level);
    settled_at_ = resync.at;
    return readability_.edges(resync.at, resync.edges);
}

ReadSays Line::read(const LevelRead& read) noexcept {
    if (life_ != Life::open) {
        return ReadSays::nothing;
    }
    last_read_ = read.at;
    const bool again = contradiction_ != never;
    if (read.level == debounce_.raw()) {
        contradiction_ = read_failed_ ? never : contradiction_;
        return again && !read_failed_ ? ReadSays::lost_edges : ReadSays::nothing;
    }
    read_failed_ = !read.level && (!again || read_failed_);
    if (again) {
        return ReadSays::nothing;
    }
    contradiction_ = read.at;
    return ReadSays::contradicts;
}

void Line::lose_track() noexcept {
    contradiction_ = never;
    debounce_.lose();
    if (life_ == Life::open) {
        life_ = Life::resyncing;
    }
}

void Line::gone(Instant at) noexcept {
    const bool had_it = life_ == Life::open || life_ == Life::resyncing;
    if (had_it && readability_.vanished(at)) {
        back_off_ = Duration::zero();
    }
    close(at);
}

bool Line::unreadable(Instant at) noexcept {
    const bool news = readability_.found_unreadable(at);
    rate_ = readability_.rate();
    if (news) {
        back_off_ = Duration::zero();
    }
    readability_.reset();
    unreadable_ = true;
    close(at);
    return news;
}

void Line::close(Instant at) noexcept {
    life_ = Life::gone;
    newly_open_ = true;
    contradiction_ = never;
    debounce_.lose();
    back_off_ = std::clamp(2 * back_off_, limits_->first_back_off, limits_->longest_back_off);
    retry_at_ = at + back_off_;
}

void Line::may_be_back(Instant at) noexcept {
    if (life_ == Life::gone && !unreadable_) {
        retry_at_ = std::min(retry_at_, at);
    }
}

void Line::retry() noexcept {
    retry_at_ = never;
    life_ = Life::opening;
}

// --- what is due ---------------------------------------------------------------------------------

Instant Line::readable_at() const noexcept {
    const Instant at = is_open() ? readability_.readable_at() : never;
    return at == never ? never : std::max(at, settled_at_);
}

Settled Line::settle() noexcept {
    const std::optional<Level> before = debounce_.settled();
    const Settled settled = debounce_.expire();
    settled_at_ = std::max(settled_at_, settled.at);
    const bool change = before && before != debounce_.settled();
    too_often_ = change && readability_.changed(settled.at);
    return settled;
}

}  // namespace nightlatch::core
