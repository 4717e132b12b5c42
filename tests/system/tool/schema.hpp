// SPDX-License-Identifier: MIT
#pragma once

#include <string>

namespace nightlatch::test {

/// Why a published schema does not hold for each object of a text (one a line, or one over all
/// lines), by an independent validator; empty when it does. `name`: of the schema,
/// "audit-against".
std::string against_schema(const std::string& name, const std::string& objects);

/// The same, and why the schema would take an object without one of its members, or with one of
/// another kind, or would not take one with members that are not known yet.
std::string spoiled_against_schema(const std::string& name, const std::string& objects);

}  // namespace nightlatch::test
