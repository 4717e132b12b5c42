// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/event.hpp"
#include "supervisor/ports/journal.hpp"

namespace nightlatch::supervisor {

/// Tells the journal what happens, in words. Makes none that the journal does not want.
class JournalFollower final : public Follower {
public:
    explicit JournalFollower(ports::Journal& journal) noexcept : journal_(journal) {}

    void happened(const Event& event) override;

private:
    ports::Journal& journal_;
};

}  // namespace nightlatch::supervisor
