// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"
#include "devicetree/tree.hpp"

namespace nightlatch::facts {

/// The tree of the running kernel, from <root>/sys/firmware/devicetree/base: a folder for each
/// node, a file with the raw value for each property [linux Documentation/ABI/testing/
/// sysfs-firmware-ofw]. Not /proc/device-tree, which services with ProcSubset=pid do not see.
///
/// Follows no links; leaves out what vanishes meanwhile, and the properties security-…, which the
/// kernel shows to root alone [linux drivers/of/kobj.c]: everybody gets the same tree. Anything
/// else that may not be read makes the tree missing, because a tree with holes would be judged as
/// whole.
Known<devicetree::Tree> read_live_tree(const std::string& root, devicetree::Limits limits = {});

}  // namespace nightlatch::facts
