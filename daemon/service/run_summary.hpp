// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/sys/event_loop.hpp"
#include "logbook/record.hpp"
#include "supervisor/event.hpp"
#include "supervisor/ports/journal.hpp"

#include <string>

namespace nightlatch::service {

/// Keeps what the logbook will say of this run, in /run, where no card is waited for. A service
/// that is started again in the same boot goes on counting.
class RunSummary final : public supervisor::Follower {
public:
    RunSummary(sys::EventLoop& loop, std::string path, ports::Journal& journal);
    RunSummary(const RunSummary&) = delete;
    RunSummary& operator=(const RunSummary&) = delete;
    ~RunSummary() override;

    void happened(const supervisor::Event& event) override;

private:
    /// Each says whether there is something new.
    bool take(const supervisor::Started& started);
    bool take(const supervisor::Noted& noted);
    bool take(const supervisor::NearMiss& missed);
    bool take(const supervisor::Decided& decided);
    bool take(const supervisor::AlarmDue& due);
    bool take(const supervisor::Asked& asked);
    bool take(const supervisor::GoingDown& going_down);

    template <class Other>
    bool take(const Other& /*other*/) {
        return false;
    }

    /// Once for all that happened at a time, after whoever follows the button has been told of it.
    void write();

    std::string path_;
    ports::Journal& journal_;
    logbook::Summary summary_;
    Instant now_{};
    bool unwritten_ = false;
    sys::Deferred writing_;
    bool was_told_ = false;  ///< that it cannot be written: once is enough
};

}  // namespace nightlatch::service
