// SPDX-License-Identifier: MIT
#include "daemon/facts/mounts.hpp"

#include "daemon/facts/files.hpp"

#include <algorithm>
#include <sstream>

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

std::vector<std::string> options_in(const std::string& list) {
    std::istringstream text(list);
    std::vector<std::string> options;
    for (std::string one; std::getline(text, one, ',');) {
        options.push_back(one);
    }
    return options;
}

bool has_option(const std::string& list, std::string_view wanted) {
    const std::vector<std::string> options = options_in(list);
    return std::find(options.begin(), options.end(), wanted) != options.end();
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
        mount.device = words[2];
        mount.read_only = has_option(words[5], "ro") || has_option(dash[3], "ro");
        std::erase_if(mounts,
                      [&](const audit::Mount& below) { return below.where == mount.where; });
        mounts.push_back(std::move(mount));
    }
    return mounts;
}

std::vector<audit::BootMount> boot_mounts_in(std::string_view text) {
    std::vector<audit::BootMount> mounts;
    std::size_t number = 0;
    for (const std::string& line : lines_of(text)) {
        ++number;
        // WHAT WHERE TYPE OPTIONS [dump pass]
        const std::vector<std::string> words = words_of(line);
        if (words.size() >= 4 && !words[0].starts_with('#')) {
            mounts.push_back({number, unescaped(words[1]), words[2], options_in(words[3])});
        }
    }
    return mounts;
}

Known<std::vector<audit::BootMount>> read_boot_mounts(const std::string& root) {
    const Read<std::string> text = read_file(root, "/etc/fstab");
    if (text) {
        return boot_mounts_in(*text);
    }
    if (text.error().absent()) {
        return std::vector<audit::BootMount>{};
    }
    return Known<std::vector<audit::BootMount>>::missing(text.error().text);
}

Known<std::vector<audit::Mount>> read_mounts(const std::string& root) {
    const Read<std::string> text = read_file(root, "/proc/self/mountinfo");
    if (!text) {
        return Known<std::vector<audit::Mount>>::missing(text.error().text);
    }
    return mounts_in(*text);
}

Known<std::vector<audit::Mount>> mounts_of_image(const std::string& root) {
    const Read<std::string> text = read_file(root, "/etc/fstab");
    if (!text) {
        return Known<std::vector<audit::Mount>>::missing("what is mounted: " + text.error().text);
    }
    const auto has = [](const audit::BootMount& mount, std::string_view option) {
        return std::find(mount.options.begin(), mount.options.end(), option) != mount.options.end();
    };
    std::vector<audit::Mount> mounts;
    for (const audit::BootMount& mount : boot_mounts_in(*text)) {
        const bool read_only = has(mount, "ro");
        const bool told = mount.where != "/" || read_only;
        if (mount.where.starts_with('/') && !has(mount, "noauto") && told) {
            mounts.push_back({mount.where, mount.type, read_only, {}});
        }
    }
    return mounts;
}

}  // namespace nightlatch::facts
