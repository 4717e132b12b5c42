// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/event.hpp"
#include "supervisor/published.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::supervisor {

/// Keeps what is published, as it follows from the events. It is whole when the App has done what
/// it was called for: what changed until then changed together.
class Publisher final : public Follower {
public:
    /// What never changes.
    struct Constant {
        std::string configuration;  ///< the file's path
        bool dry = false;
        std::string version;
    };

    explicit Publisher(Constant constant);

    void happened(const Event& event) override;

    /// How the configuration's file stands; `trouble`: of a bad one.
    void on_disk(OnDisk state, const std::string& trouble);

    [[nodiscard]] const Published& now() const noexcept { return published_; }

    /// Whether anything may have changed since the last take_changes(); cheap.
    [[nodiscard]] bool touched() const noexcept { return touched_; }

    /// What has changed since the last call.
    std::vector<Property> take_changes();

private:
    void take(const Started& started);
    void take(const Reloaded& reloaded);
    void take(const LineOpened& opened);
    void take(const LineClosing& closing);
    void take(const LineLost& lost);
    void take(const LineUnreadable& line);
    void take(const Noted& noted);
    void take(const AlarmDue& due);
    void take(const AlarmTold& told);
    void take(const Answered& answered);
    void take(const PowerOffRefused& refused);
    void take(const GoingDown& going);
    void take(const CueShown& shown);
    void take(const PostHaltLooked& looked);

    template <class Other>
    void take(const Other& /*other*/) {}

    void begin_request(const core::Note& note);
    void gone_down(const core::Note& note);
    void given_up(const GoingDown& going);
    void unreadable(const core::Note& note);
    void alarm_is(const std::string& name, bool due);
    void in_force(const config::Settings& settings);
    [[nodiscard]] Reason of_request(ReasonCode code) const;
    void show_request(Reason reason);
    [[nodiscard]] std::optional<Reason> reason() const;
    [[nodiscard]] std::string stage() const;
    void refresh();

    Published published_;
    Published told_;  ///< as it was at the last take_changes()
    bool touched_ = false;
    Instant at_{};  ///< of the event that is being taken
    core::Cue cue_;
    std::string due_;  ///< the alarm that was due last
    /// The latest request, or shutdown: whose it is, what is to be said of it, and the alarm that
    /// asked (empty: none).
    std::optional<Reason> request_;
    std::string alarm_;
    bool sent_ = false;
    std::optional<Reason> line_;  ///< why the button's line is closed
};

}  // namespace nightlatch::supervisor
