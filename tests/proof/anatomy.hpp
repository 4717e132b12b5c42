// SPDX-License-Identifier: MIT
#pragma once

#include "bounds.hpp"
#include "codec.hpp"
#include "core/core.hpp"

namespace nightlatch::core {

/// Reads and writes all that is in a Core. Between the inputs actions are drained, so that there
/// are none; notes are for people. Left out, for the limits are such that they never trigger: the
/// counters of storms, of changes of the settled level, of edges without a pause.
struct Anatomy {
    static void write(proof::Writer& writer, Core& core, const proof::Bounds& bounds);
    static void read(proof::Reader& reader, Core& core, const proof::Bounds& bounds);

    /// Messages that wait for a read that contradicts.
    static std::size_t waiting(const Core& core) { return core.messages_.size(); }

    /// The latest request that has left the core.
    static std::uint32_t latest(const Core& core) {
        const bool waits = core.unconfirmed_ && std::holds_alternative<Ask>(*core.unconfirmed_);
        return core.request_.number - (waits ? 1 : 0);
    }

    /// A Core's requests and questions count from here in each state: what counts is who is older.
    static constexpr std::uint32_t number = 1'000;

private:
    template <class Codec>
    static void walk(Codec& codec, Core& core, const proof::Bounds& bounds);
    template <class Codec>
    static void walk_line(Codec& codec, Line& line, const proof::Bounds& bounds, bool alarms);
    template <class Codec>
    static void walk_debounce(Codec& codec,
                              Debounce& debounce,
                              bool open,
                              const proof::Bounds& bounds);
    template <class Codec>
    static void walk_alarm(Codec& codec, AlarmWatch& alarm, const proof::Bounds& bounds);
    template <class Codec>
    static void walk_press(Codec& codec, Core& core, const proof::Bounds& bounds);
    template <class Codec>
    static void walk_decision(Codec& codec, Core& core, const proof::Bounds& bounds);
    template <class Codec>
    static void walk_request(Codec& codec, Core& core, const proof::Bounds& bounds);

    static void write_messages(proof::Writer& writer, const Core& core);
    static void read_messages(proof::Reader& reader, Core& core);
};

}  // namespace nightlatch::core
