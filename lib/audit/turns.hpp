// SPDX-License-Identifier: MIT
#pragma once

#include "audit/ways_off.hpp"

#include <vector>

/// Who comes before whom, by the kernel's version.
namespace nightlatch::audit {

/// How a driver stands in the kernel that is audited: in either way that was read where the kernel
/// is between the two.
std::vector<Standing> standings(const Scene& scene, const PowerOffHandler& row);

Turn turn_of(const Scene& scene, const Standing& other);

/// The kernel's own start-up has come before any driver: who has the slot keeps it, unless it was
/// taken from him, as a vendor's `force` does.
Turn turn_of_early(const Scene& scene, const Standing& other);

}  // namespace nightlatch::audit
