// SPDX-License-Identifier: MIT
#pragma once

#include "property/model.hpp"
#include "support/harness.hpp"

#include <array>
#include <cstdint>
#include <vector>

namespace nightlatch::test {

/// All that a core did, as numbers with every instant counted from the line's start: two of them
/// can be compared whatever clock they ran on. When an action came out is not part of it (that
/// depends on when the loop woke up); when it was decided is.
struct Record {
    using Row = std::array<std::int64_t, 8>;
    std::vector<Row> actions;
    std::vector<Row> notes;
    Row cue{};
    std::uint32_t late_edges = 0;

    bool operator==(const Record&) const = default;
};

Record record_of(Shell& shell, Instant start);
std::string text_of(const Record& record);

/// What is done between a sample and the next one.
enum class Between : unsigned char {
    nothing,    ///< the next sample is fed in the same batch
    deadlines,  ///< a wake-up on every deadline
    late,       ///< one wake-up only, at the next sample's stamp, just before that is fed
};
constexpr std::size_t between_count = 3;

/// The line with `between[i]` before sample i, and last before its end.
Record run(const core::Settings& settings,
           const model::Line& line,
           const std::vector<Between>& between);
/// With a wake-up on every deadline.
Record run(const core::Settings& settings, const model::Line& line);

}  // namespace nightlatch::test
