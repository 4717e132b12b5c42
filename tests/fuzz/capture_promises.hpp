// SPDX-License-Identifier: MIT
#pragma once

#include "wave/capture.hpp"

#include <string>
#include <string_view>

/// What must hold of a capture file's reading, whatever the text was: for the fuzzers and for the
/// tests with random bytes.
namespace nightlatch::test {

/// An empty string, or the promise that is broken.
std::string broken(const wave::CaptureRead& read, std::string_view text);

/// The same, of the reading of a text that only has one more line at its start.
std::string broken_by_shift(const wave::CaptureRead& read, const wave::CaptureRead& shifted);

}  // namespace nightlatch::test
