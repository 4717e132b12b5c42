// SPDX-License-Identifier: MIT
#include "daemon/cues/tries.hpp"

#include <algorithm>

namespace nightlatch::cues {

namespace {

constexpr Duration first_step = std::chrono::milliseconds{10};
constexpr Duration longest_step = std::chrono::seconds{1};

}  // namespace

Tries::Next Tries::failed(Instant now) noexcept {
    if (!given_up_) {
        if (step_ == Duration{}) {
            step_ = first_step;
            over_ = now + patience_.whole;
        }
        if (now < over_) {
            const Instant at = now + step_;
            step_ = std::min(2 * step_, longest_step);
            return {at, false};
        }
    }
    step_ = Duration{};
    given_up_ = true;
    not_before_ = now + patience_.pause;
    const bool first = !told_;
    told_ = true;
    return {never, first};
}

bool Tries::succeeded() noexcept {
    progressed();
    const bool was_told = told_;
    told_ = false;
    return was_told;
}

void Tries::progressed() noexcept {
    step_ = Duration{};
    given_up_ = false;
}

Instant Tries::allowed(Instant now) const noexcept {
    return given_up_ ? std::max(now, not_before_) : now;
}

}  // namespace nightlatch::cues
