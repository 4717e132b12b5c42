// SPDX-License-Identifier: MIT
#pragma once

#include "wave/capture.hpp"
#include "wave/limits.hpp"

#include <span>
#include <string_view>

namespace nightlatch::wave {

/// A file format of captures.
struct Format {
    /// As manuals name it. In small letters: the name of its corpus and of its fuzzer.
    std::string_view word;
    bool (*is_meant)(std::string_view text);  ///< goes by how the text begins
    CaptureRead (*read)(std::string_view text, std::string_view signal, std::size_t most_edges);
};

/// All that there are. A text is of the first that is meant; the last one takes every text.
std::span<const Format> formats() noexcept;

/// Reads one signal of a capture, of whatever format; an empty `signal` is the only one.
CaptureRead read_capture(std::string_view text,
                         std::string_view signal,
                         std::size_t most_edges = most_captured_edges);

}  // namespace nightlatch::wave
