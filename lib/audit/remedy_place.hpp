// SPDX-License-Identifier: MIT
#pragma once

#include "audit/scene.hpp"

#include <string>
#include <string_view>

namespace nightlatch::audit {

/// What the remedy tells people to call their overlay.
inline constexpr std::string_view our_overlay = "post-halt-line";

/// How to compile the overlay whose source stands above, and where this board's boot loader takes
/// it from, in that loader's own words, so that it stays there over an update.
std::string where_to_put_it(const Scene& scene);

/// The text of that loader; null when there is none.
const bootfiles::Intent* boot_text_of(const Scene& scene, bootfiles::Loader loader);

/// dtc's command that says nothing about such an overlay's source.
std::string compile_command(std::string_view name);

}  // namespace nightlatch::audit
