// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "core/cue.hpp"
#include "core/settings.hpp"

#include <array>
#include <string_view>

namespace nightlatch::config {

/// A word of the configuration and what it means; reading and printing both go by these tables.
template <class T>
struct Word {
    std::string_view text;
    T value;
};

/// true: active low.
inline constexpr std::array level_words{Word<bool>{"low", true}, Word<bool>{"high", false}};

inline constexpr std::array bias_words{Word<lines::Bias>{"pull-up", lines::Bias::pull_up},
                                       Word<lines::Bias>{"pull-down", lines::Bias::pull_down},
                                       Word<lines::Bias>{"none", lines::Bias::none},
                                       Word<lines::Bias>{"as-is", lines::Bias::as_is}};

inline constexpr std::array act_on_words{Word<core::ActOn>{"release", core::ActOn::release},
                                         Word<core::ActOn>{"threshold", core::ActOn::threshold}};

inline constexpr std::array action_words{Word<core::Action>{"power-off", core::Action::power_off},
                                         Word<core::Action>{"reboot", core::Action::reboot},
                                         Word<core::Action>{"announce", core::Action::announce}};

inline constexpr std::array at_start_words{Word<core::AtStart>{"ignore", core::AtStart::ignore},
                                           Word<core::AtStart>{"count", core::AtStart::count}};

inline constexpr std::array inhibitor_words{
    Word<core::Inhibitors>{"respect", core::Inhibitors::respect},
    Word<core::Inhibitors>{"override", core::Inhibitors::override_them}};

inline constexpr std::array without_post_halt_words{
    Word<core::WithoutPostHalt>{"allow", core::WithoutPostHalt::allow},
    Word<core::WithoutPostHalt>{"warn", core::WithoutPostHalt::warn},
    Word<core::WithoutPostHalt>{"refuse", core::WithoutPostHalt::refuse}};

/// The word for a value; every value has one.
template <class Words, class T>
constexpr std::string_view word_for(const Words& words, T value) {
    for (const auto& word : words) {
        if (word.value == value) {
            return word.text;
        }
    }
    return {};
}

}  // namespace nightlatch::config
