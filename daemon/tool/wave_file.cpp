// SPDX-License-Identifier: MIT
#include "daemon/tool/wave_file.hpp"

#include "base/handle.hpp"
#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "wave/csv_reader.hpp"
#include "wave/vcd_reader.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>

namespace nightlatch::tool {
namespace {

/// Some ten million edges of a value change dump.
constexpr std::size_t most_bytes = std::size_t{256} << 20U;

using File = Handle<std::FILE, std::fclose>;

/// A VCD begins with a keyword [IEEE 1364-2005, 18.2].
bool is_vcd(const std::string& text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    return first != std::string::npos && text[first] == '$';
}

}  // namespace

Result<wave::CaptureRead> read_wave_file(const std::string& path, const std::string& signal) {
    const auto text = facts::read_file("", path, most_bytes);
    if (!text) {
        return Unexpected{Error{Trouble::other, "cannot read " + safe(text.error().text)}};
    }
    return is_vcd(*text) ? wave::read_vcd(*text, signal) : wave::read_csv(*text, signal);
}

std::string problem_text(const wave::Problem& problem, const std::string& path) {
    return safe(path + ":" + std::to_string(problem.line) + ":" + std::to_string(problem.column) +
                (problem.error ? ": error: " : ": warning: ") + problem.text);
}

Outcome write_whole(const std::string& path, const std::string& text) {
    File file(std::fopen(path.c_str(), "wb"));
    const auto failed = [&path] {
        return Error{Trouble::other, "cannot write " + safe(path) + ": " + std::strerror(errno)};
    };
    if (!file) {
        return Unexpected{failed()};
    }
    const bool written = std::fwrite(text.data(), 1, text.size(), file.get()) == text.size();
    const bool closed = std::fclose(file.release()) == 0;
    if (!written || !closed) {
        return Unexpected{failed()};
    }
    return std::monostate{};
}

}  // namespace nightlatch::tool
