// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/tree.hpp"

#include <span>

/// Flattened trees, by libfdt. A part of its own (nightlatch_devicetree_blob): the service does
/// without.
namespace nightlatch::devicetree {

/// Reads a blob of any bytes: format version 16 or 17 [Devicetree Specification, chapter 5], of at
/// most Limits::bytes. Fails with a sentence that says what is broken and where.
Result<Tree> read_blob(std::string_view blob, Limits limits = {});

/// An overlay with the name that messages give it.
struct Overlay {
    std::string name;
    std::string blob;
};

/// Applies overlays in order, as a boot loader does; the result is again a blob. Fails with a
/// sentence that names the overlay: the base has no symbols, a label is missing, ….
Result<std::string> apply_overlays(std::string_view base, std::span<const Overlay> overlays);

}  // namespace nightlatch::devicetree
