// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/event.hpp"
#include "supervisor/narrate.hpp"

#include <functional>
#include <string>

namespace nightlatch::supervisor {

/// Keeps one line that says how things stand. Nothing is told before the first cue was shown.
class StatusLine final : public Follower {
public:
    /// `changed` is told each new line.
    explicit StatusLine(std::function<void(const std::string&)> changed)
        : changed_(std::move(changed)) {}

    void happened(const Event& event) override;

    /// What is wrong with the configuration on disk; empty: nothing is.
    void on_disk(const std::string& trouble);

    [[nodiscard]] const std::string& text() const noexcept { return text_; }

private:
    void take(const LineOpened& opened);
    void take(const LineLost& lost);
    void take(const LineClosing& closing);
    void take(const CueShown& shown);
    void take(const PostHaltLooked& looked);

    template <class Other>
    void take(const Other& /*other*/) {}

    void update();
    void update_if_shown();

    std::function<void(const std::string&)> changed_;
    Standing standing_;
    bool any_shown_ = false;
    std::string text_;
};

}  // namespace nightlatch::supervisor
