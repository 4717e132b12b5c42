// SPDX-License-Identifier: MIT
#include "wave/formats.hpp"

#include "base/text.hpp"
#include "wave/csv_reader.hpp"
#include "wave/vcd_header.hpp"
#include "wave/vcd_reader.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::wave {
namespace {

/// A VCD begins with a keyword [IEEE 1364-2005, 18.2], or has those of declarations further down.
bool is_dump(std::string_view text) {
    return trimmed(text.substr(0, 100)).starts_with('$') || declares_signals(text);
}

bool never(std::string_view /*text*/) {
    return false;
}

CaptureRead read_dump(std::string_view text,
                      std::string_view signal,
                      std::size_t most_edges,
                      const std::optional<Thresholds>& thresholds) {
    if (thresholds) {
        return {
            std::nullopt,
            {{true, 1, 1, "a value change dump has levels, no voltages: leave --threshold out"}}};
    }
    return read_vcd(text, signal, most_edges);
}

constexpr std::array all{Format{"VCD", ".vcd", is_dump, read_dump},
                         Format{"CSV", ".csv", never, read_csv}};

bool ends_in(std::string_view name, std::string_view ending) {
    return name.size() >= ending.size() &&
           std::equal(ending.rbegin(), ending.rend(), name.rbegin(), [](char small, char c) {
               return small == (c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c);
           });
}

const Format& format_of(const CaptureFile& file) {
    const auto* format = std::find_if(
        all.begin(), all.end(), [&](const Format& one) { return one.is_meant(file.text); });
    if (format == all.end()) {
        format = std::find_if(all.begin(), all.end(), [&](const Format& one) {
            return ends_in(file.name, one.ending);
        });
    }
    return format == all.end() ? all.back() : *format;
}

/// A sigrok session is a zip archive [libsigrok 0.5.2, src/session_file.c], which begins with the
/// signature of a local file header [PKWARE's APPNOTE.TXT, 4.3.7].
bool is_archive(std::string_view text) {
    return text.starts_with("PK\x03\x04");
}

constexpr std::string_view archive_text =
    "this is a zip archive, such as a sigrok session (.sr): write a VCD from it, as with "
    "sigrok-cli -i session.sr -O vcd -o capture.vcd";

}  // namespace

std::span<const Format> formats() noexcept {
    return all;
}

std::optional<std::string> why_no_table(const CaptureFile& file) {
    if (is_archive(file.text)) {
        return "this is a zip archive; export the voltages as CSV";
    }
    if (format_of(file).ending == ".vcd") {
        return "a value change dump has levels, no voltages; export them as CSV";
    }
    return std::nullopt;
}

CaptureRead read_capture(const CaptureFile& file,
                         std::string_view signal,
                         const std::optional<Thresholds>& thresholds) {
    if (is_archive(file.text)) {
        return {std::nullopt, {{true, 1, 1, std::string(archive_text)}}};
    }
    return format_of(file).read(file.text, signal, most_captured_edges, thresholds);
}

}  // namespace nightlatch::wave
