// SPDX-License-Identifier: MIT
#pragma once

#include "support/seeds.hpp"

#include <string>
#include <vector>

namespace nightlatch::test {

/// Bytes without any sense.
std::string random_bytes(Dice& dice, std::size_t most);

/// One of the texts, damaged in one to three places the way hands, editors and disks do it: bytes
/// changed, lost, put in; lines lost, or brought in from one of the others; words exchanged for
/// others that mean something; the end cut off.
std::string mutated(Dice& dice,
                    const std::vector<std::string>& texts,
                    const std::vector<std::string>& others);

}  // namespace nightlatch::test
