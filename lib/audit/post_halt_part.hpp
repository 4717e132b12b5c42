// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <string>

/// For who asks for the verdict again and again while only little can have changed.
namespace nightlatch::audit {

/// Of a device tree what the post-halt rules go by: some dozens of its thousands of nodes, with
/// which judge_post_halt() says the same as with all of them. A rule that looks at another kind of
/// node has it named here, or tests/unit/audit fails.
devicetree::Tree post_halt_part(const devicetree::Tree& tree);

/// The device of the chip that the kernel's post-halt line is on, "/dev/gpiochip0"; empty when
/// there is no such line, or not one chip.
std::string post_halt_device(const Facts& facts);

}  // namespace nightlatch::audit
