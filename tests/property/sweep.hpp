// SPDX-License-Identifier: MIT
#pragma once

#include "property/model.hpp"
#include "support/harness.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace nightlatch::test {

/// Where all time lines start; not 0, so that a forgotten start shows.
constexpr Instant line_start{std::chrono::seconds{1000}};

/// All lines of up to `length` samples whose distances are drawn from `gaps`.
struct Sweep {
    core::Settings settings;
    std::vector<Duration> gaps;
    std::size_t length = 0;
    bool repeats = false;  ///< every pattern of levels; else they alternate
    model::Reply reply = model::Reply::silence;
    Duration tail = std::chrono::seconds{3};  ///< longer than anything that may still come
    /// Gaps of alternating samples that every line begins with; it is then read released.
    std::vector<Duration> prefix{};
};

/// How it went: `wrong` describes the first line on which core and model differ, if any.
struct Swept {
    std::uint64_t lines = 0;
    std::uint64_t requests = 0;
    std::uint64_t near_misses = 0;
    std::uint64_t call_offs = 0;
    std::uint64_t stuck = 0;
    std::uint64_t unreadable = 0;
    std::string wrong;
};

/// Sanitizers make everything several times slower, and the mutation run repeats everything many
/// times: sweeps are some samples shorter there, and say so.
#if defined(__SANITIZE_ADDRESS__) || defined(NIGHTLATCH_SHORT_SWEEPS)
constexpr bool shortened = true;
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
constexpr bool shortened = true;
#else
constexpr bool shortened = false;
#endif
#else
constexpr bool shortened = false;
#endif

/// Runs the core over the line, deadline by deadline, and says where it differs from the model;
/// empty where it does not.
std::string difference(const core::Settings& settings,
                       const model::Line& line,
                       model::Reply reply,
                       Swept* count = nullptr);

/// Runs and compares all of it and prints one line of what was seen.
Swept run_sweep(const Sweep& sweep, std::string_view name);

/// One call for every line of the sweep, until it returns false.
void for_each_line(const Sweep& sweep, const std::function<bool(const model::Line&)>& visit);

std::string text_of(const model::Line& line);
std::string text_of(const core::Settings& settings);

/// One stage of 90 ms (three intervals of 30 ms), stuck after 300 ms: small, so that sums of the
/// critical gaps fall on the limits and to both sides of them.
core::Settings small_settings();
std::vector<Duration> critical_gaps(const core::Settings& settings);

}  // namespace nightlatch::test
