// SPDX-License-Identifier: MIT
#include "daemon/facts/mounts.hpp"

#include "daemon/facts/files.hpp"

#include <algorithm>

namespace nightlatch::facts {
namespace {

bool is_octal(char c) {
    return c >= '0' && c <= '7';
}

/// Blanks and the like are written "\040" [linux fs/seq_file.c, mangle_path].
std::string unescaped(std::string_view text) {
    std::string plain;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\\' && i + 3 < text.size() && is_octal(text[i + 1]) &&
            is_octal(text[i + 2]) && is_octal(text[i + 3])) {
            const int code =
                (text[i + 1] - '0') * 64 + (text[i + 2] - '0') * 8 + (text[i + 3] - '0');
            plain += static_cast<char>(code);
            i += 3;
        } else {
            plain += text[i];
        }
    }
    return plain;
}

bool has_option(std::string_view options, std::string_view wanted) {
    const std::string list = "," + std::string(options) + ",";
    return list.find("," + std::string(wanted) + ",") != std::string::npos;
}

}  // namespace

std::vector<audit::Mount> mounts_in(std::string_view text) {
    std::vector<audit::Mount> mounts;
    for (const std::string& line : lines_of(text)) {
        // id parent device root WHERE OPTIONS [tags] - TYPE source SUPER-OPTIONS
        const std::vector<std::string> words = words_of(line);
        const auto dash = std::find(
            words.begin() + std::min<std::ptrdiff_t>(6, std::ssize(words)), words.end(), "-");
        if (words.end() - dash < 4) {
            continue;
        }
        audit::Mount mount;
        mount.where = unescaped(words[4]);
        mount.type = dash[1];
        mount.read_only = has_option(words[5], "ro") || has_option(dash[3], "ro");
        std::erase_if(mounts,
                      [&](const audit::Mount& below) { return below.where == mount.where; });
        mounts.push_back(std::move(mount));
    }
    return mounts;
}

Known<std::vector<audit::Mount>> read_mounts(const std::string& root) {
    const Read<std::string> text = read_file(root, "/proc/self/mountinfo");
    if (!text) {
        return Known<std::vector<audit::Mount>>::missing(text.error().text);
    }
    return mounts_in(*text);
}

}  // namespace nightlatch::facts
