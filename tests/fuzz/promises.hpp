// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"

#include <map>
#include <string>

/// What must hold of an intent, whatever the text was: for the fuzzers and for the tests with
/// random bytes.
namespace nightlatch::test {

/// The texts by the names under which a parser was given them.
using Texts = std::map<std::string, std::string, std::less<>>;

/// An empty string, or the promise that is broken.
std::string broken(const bootfiles::Intent& intent, const Texts& texts);

/// The same, of the intent of a text that only has one more line at its start, a comment.
std::string broken_by_shift(const bootfiles::Intent& intent, const bootfiles::Intent& shifted);

}  // namespace nightlatch::test
