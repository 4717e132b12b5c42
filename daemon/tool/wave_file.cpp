// SPDX-License-Identifier: MIT
#include "daemon/tool/wave_file.hpp"

#include "base/handle.hpp"
#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "wave/formats.hpp"

#include <array>
#include <cerrno>
#include <cstdio>

#include <unistd.h>

namespace nightlatch::tool {
namespace {

bool is_standard_input(const std::string& path) {
    return path == "-" || path == "/dev/stdin";
}

/// Some ten million edges of a value change dump.
constexpr std::size_t most_bytes = std::size_t{256} << 20U;

using Stream = Handle<std::FILE, std::fclose>;

/// Waits for whoever writes into a pipe, which facts::read_file() does not.
facts::Read<std::string> read_stream(const std::string& path) {
    const Stream stream(is_standard_input(path) ? fdopen(dup(STDIN_FILENO), "r")
                                                : std::fopen(path.c_str(), "re"));
    if (!stream) {
        return Unexpected{facts::missing(wave_name(path), errno)};
    }
    std::string text;
    std::array<char, 65'536> bytes{};
    while (const std::size_t count = std::fread(bytes.data(), 1, bytes.size(), stream.get())) {
        text.append(bytes.data(), count);
        if (text.size() > most_bytes) {
            return Unexpected{facts::Missing{EFBIG, wave_name(path) + " (larger than 256 MiB)"}};
        }
    }
    if (std::ferror(stream.get()) != 0) {
        return Unexpected{facts::missing(wave_name(path), errno)};
    }
    return text;
}

}  // namespace

std::string wave_name(const std::string& path) {
    return is_standard_input(path) ? "standard input" : path;
}

Result<std::string> read_wave_text(const std::string& path) {
    auto text = read_stream(path);
    if (!text) {
        return Unexpected{Error{Trouble::other, "cannot read " + safe(text.error().text)}};
    }
    return std::move(*text);
}

Result<wave::CaptureRead> read_wave_file(const std::string& path, const WaveChoice& choice) {
    std::optional<wave::Thresholds> thresholds;
    if (choice.threshold) {
        const auto read = wave::parse_thresholds(*choice.threshold);
        if (!read) {
            return Unexpected{Error{Trouble::other, read.error()}};
        }
        thresholds = *read;
    }
    const auto text = read_wave_text(path);
    if (!text) {
        return Unexpected{text.error()};
    }
    return wave::read_capture({path, *text}, choice.signal, thresholds);
}

void describe_wave_choice(Options& options, WaveChoice& into) {
    options.text("--signal NAME", into.signal, "Which signal of the capture, if it has several")
        .needs("--wave")
        .text("--threshold VOLTS",
              into.threshold,
              "From this voltage on the level is high: \"1.6 V\" or \"0.8 V, 2.0 V\"")
        .needs("--wave");
}

std::string problem_text(const wave::Problem& problem, const std::string& path) {
    return safe(wave_name(path) + ":" + std::to_string(problem.line) + ":" +
                std::to_string(problem.column) + (problem.error ? ": error: " : ": warning: ") +
                problem.text);
}

}  // namespace nightlatch::tool
