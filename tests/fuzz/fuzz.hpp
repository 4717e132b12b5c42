// SPDX-License-Identifier: MIT
#pragma once

#include <string>

namespace nightlatch::test {

/// Ends the run, as libFuzzer takes for a finding, with the promise that is broken; nothing happens
/// for an empty one.
void expect_kept(const std::string& broken_promise);

}  // namespace nightlatch::test
