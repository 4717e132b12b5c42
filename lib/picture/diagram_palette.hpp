// SPDX-License-Identifier: MIT
#pragma once

#include <array>
#include <string>
#include <string_view>

namespace nightlatch::picture::svg {

enum class Scheme : unsigned char { light, dark };

/// What a colour is for. No role is told from another by its colour alone.
enum class Role : unsigned char {
    page,     ///< behind all
    band,     ///< behind every other lane
    tint,     ///< of a cue's box
    held,     ///< of a hold's wedge
    ink,      ///< text
    soft,     ///< text that matters less
    trouble,  ///< text of what a person would have to look after
    rule,     ///< outlines, leader lines, the axis
    grid,     ///< decoration only
    wave,     ///< the levels
};
constexpr std::size_t role_count = 10;

/// "#rrggbb".
std::string_view colour(Role role, Scheme scheme) noexcept;

struct Pair {
    Role front;
    Role back;
};

/// All pairs that occur: text on its background, and lines that carry meaning on theirs.
inline constexpr std::array text_pairs{Pair{Role::ink, Role::page},
                                       Pair{Role::ink, Role::band},
                                       Pair{Role::ink, Role::tint},
                                       Pair{Role::ink, Role::held},
                                       Pair{Role::soft, Role::page},
                                       Pair{Role::soft, Role::band},
                                       Pair{Role::soft, Role::held},
                                       Pair{Role::trouble, Role::page},
                                       Pair{Role::trouble, Role::band}};
inline constexpr std::array line_pairs{Pair{Role::rule, Role::page},
                                       Pair{Role::rule, Role::band},
                                       Pair{Role::rule, Role::tint},
                                       Pair{Role::wave, Role::page},
                                       Pair{Role::wave, Role::band},
                                       Pair{Role::wave, Role::tint},
                                       Pair{Role::ink, Role::tint},
                                       Pair{Role::ink, Role::page},
                                       Pair{Role::ink, Role::band}};

/// The <style> element and the <defs> with the fill patterns.
std::string style_and_patterns();

}  // namespace nightlatch::picture::svg
