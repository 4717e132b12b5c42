// SPDX-License-Identifier: MIT
#include "daemon/tool/wave_file.hpp"

#include "base/handle.hpp"
#include "wave/csv_reader.hpp"
#include "wave/vcd_reader.hpp"

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>

namespace nightlatch::tool {
namespace {

constexpr std::size_t largest = std::size_t{1} << 30;

using File = Handle<std::FILE, std::fclose>;

Error failed(const std::string& doing, const std::string& path) {
    return {Trouble::other, "cannot " + doing + " " + path + ": " + std::strerror(errno)};
}

Result<std::string> read_whole(const std::string& path) {
    const File file(std::fopen(path.c_str(), "rb"));
    if (!file) {
        return Unexpected{failed("read", path)};
    }
    std::string text;
    std::array<char, 65536> part{};
    for (std::size_t count = std::fread(part.data(), 1, part.size(), file.get()); count > 0;
         count = std::fread(part.data(), 1, part.size(), file.get())) {
        text.append(part.data(), count);
        if (text.size() > largest) {
            return Unexpected{Error{Trouble::other,
                                    "cannot read " + path +
                                        ": larger than 1 GiB; cut the capture to the presses"}};
        }
    }
    if (std::ferror(file.get()) != 0) {
        return Unexpected{failed("read", path)};
    }
    return text;
}

/// A VCD begins with a keyword [IEEE 1364-2005, 18.2].
bool is_vcd(const std::string& text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    return first != std::string::npos && text[first] == '$';
}

}  // namespace

Result<wave::CaptureRead> read_wave_file(const std::string& path, const std::string& signal) {
    const auto text = read_whole(path);
    if (!text) {
        return Unexpected{text.error()};
    }
    return is_vcd(*text) ? wave::read_vcd(*text, signal) : wave::read_csv(*text, signal);
}

std::string problems_text(const wave::CaptureRead& read, const std::string& path) {
    std::string text;
    for (const wave::Problem& problem : read.problems) {
        text += path + ":" + std::to_string(problem.line) + ":" + std::to_string(problem.column) +
                (problem.error ? ": error: " : ": warning: ") + problem.text + "\n";
    }
    return text;
}

Outcome write_whole(const std::string& path, const std::string& text) {
    File file(std::fopen(path.c_str(), "wb"));
    if (!file) {
        return Unexpected{failed("write", path)};
    }
    const bool written = std::fwrite(text.data(), 1, text.size(), file.get()) == text.size();
    const bool closed = std::fclose(file.release()) == 0;
    if (!written || !closed) {
        return Unexpected{failed("write", path)};
    }
    return std::monostate{};
}

}  // namespace nightlatch::tool
