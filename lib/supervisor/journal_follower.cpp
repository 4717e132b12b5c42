// SPDX-License-Identifier: MIT
#include "supervisor/journal_follower.hpp"

#include "supervisor/narrate.hpp"

namespace nightlatch::supervisor {

void JournalFollower::happened(const Event& event) {
    const auto told = rank(event);
    if (told && journal_.wants(told->priority)) {
        journal_.say(told->priority, told->message, tell(event), fields_of(event));
    }
}

}  // namespace nightlatch::supervisor
