// SPDX-License-Identifier: MIT
#pragma once

#include "base/ensure.hpp"
#include "base/level.hpp"
#include "base/time.hpp"

#include <cstdint>
#include <optional>

namespace nightlatch::proof {

/// A state as bytes, one a variable, stamps as "before now". A stamp that is older than `clamp` is
/// that old; a variable that nothing depends on is dropped. One walk over the variables writes and
/// reads them: whether one is live may depend on those before it.
constexpr Duration unclamped = Duration::max();

constexpr std::uint8_t dropped_byte = 0;
constexpr std::uint8_t never_byte = 1;
constexpr std::uint8_t zero_byte = 100;  ///< an age of nothing; so much can be ahead, almost

class Writer {
public:
    Writer(std::uint8_t* out, Instant now) : out_(out), now_(now) {}

    void stamp(const Instant& value, bool live = true, Duration clamp = unclamped) {
        if (!live) {
            drop();
        } else if (value == never) {
            *out_++ = never_byte;
        } else {
            length(now_ - value, true, clamp);
        }
    }

    void length(const Duration& value, bool live = true, Duration clamp = unclamped) {
        if (!live) {
            drop();
            return;
        }
        shortened_ = shortened_ || value >= clamp;
        const auto ticks = (value < clamp ? value : clamp).count();
        NIGHTLATCH_ENSURE(ticks > -int{zero_byte} + int{never_byte} &&
                          ticks <= UINT8_MAX - int{zero_byte});
        *out_++ = static_cast<std::uint8_t>(ticks + zero_byte);
    }

    /// An enumeration, a flag, a small number.
    template <class T>
    void small(const T& value, bool live = true) {
        if (live) {
            *out_++ = static_cast<std::uint8_t>(static_cast<std::uint8_t>(value) + 1);
        } else {
            drop();
        }
    }

    void level(const std::optional<Level>& value, bool live = true) {
        small(!value ? 0 : *value == Level::active ? 2 : 1, live);
    }

    [[nodiscard]] const std::uint8_t* end() const { return out_; }

    /// Something was clamped or dropped.
    [[nodiscard]] bool shortened() const { return shortened_; }

private:
    void drop() {
        shortened_ = true;
        *out_++ = dropped_byte;
    }

    std::uint8_t* out_;
    Instant now_;
    bool shortened_ = false;
};

/// What stands for what was not kept: whatever it is, the successors must be the same.
enum class Junk : unsigned char { none, a_tick, a_large_step };

class Reader {
public:
    Reader(const std::uint8_t* in, Instant now, Junk junk = Junk::none)
        : in_(in), now_(now), junk_(junk) {}

    void stamp(Instant& value, bool live = true, Duration clamp = unclamped) {
        if (live && *in_ == never_byte) {
            ++in_;
            value = never;
            return;
        }
        Duration age{};
        length(age, live, clamp);
        value = now_ - age;
    }

    void length(Duration& value, bool live = true, Duration clamp = unclamped) {
        const std::uint8_t byte = *in_++;
        if (!live) {
            value = Duration(junk_ == Junk::none ? 5 : junk_ == Junk::a_tick ? 1 : far);
            return;
        }
        value = Duration(int{byte} - int{zero_byte});
        if (value == clamp && junk_ != Junk::none) {
            value += Duration(junk_ == Junk::a_tick ? 1 : far);
        }
    }

    template <class T>
    void small(T& value, bool live = true) {
        const int byte = *in_++;
        value = static_cast<T>(live ? byte - 1 : junk_ == Junk::none ? 0 : 1);
    }

    void level(std::optional<Level>& value, bool live = true) {
        int read = 0;
        small(read, live);
        value =
            read == 0 ? std::nullopt : std::optional(read == 2 ? Level::active : Level::inactive);
    }

    [[nodiscard]] const std::uint8_t* end() const { return in_; }

private:
    static constexpr int far = 1'000;

    const std::uint8_t* in_;
    Instant now_;
    Junk junk_;
};

}  // namespace nightlatch::proof
