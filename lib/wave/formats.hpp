// SPDX-License-Identifier: MIT
#pragma once

#include "wave/capture.hpp"
#include "wave/limits.hpp"
#include "wave/volts.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace nightlatch::wave {

/// A file format of captures.
struct Format {
    /// As manuals name it. In small letters: the name of its corpus and of its fuzzer.
    std::string_view word;
    std::string_view ending;                  ///< of a file's name, in small letters: ".vcd"
    bool (*is_meant)(std::string_view text);  ///< goes by how the text begins
    CaptureRead (*read)(std::string_view text,
                        std::string_view signal,
                        std::size_t most_edges,
                        const std::optional<Thresholds>& thresholds);
};

/// All that there are. A text is of the first that is meant, else of the one whose ending its name
/// has, else of the last.
std::span<const Format> formats() noexcept;

struct CaptureFile {
    std::string_view name;  ///< its end counts; "" for one without a name
    std::string_view text;
};

/// Why the file is not a table of voltages at all: an archive, a value change dump. Nothing when it
/// may be one.
std::optional<std::string> why_no_table(const CaptureFile& file);

/// Reads one signal of a capture, of whatever format; an empty `signal` is the only one.
/// `thresholds` make levels of voltages. What is not a text at all is named for what it is.
CaptureRead read_capture(const CaptureFile& file,
                         std::string_view signal,
                         const std::optional<Thresholds>& thresholds = std::nullopt);

}  // namespace nightlatch::wave
