// SPDX-License-Identifier: MIT
#include "daemon/guard/guard_file.hpp"
#include "daemon/sys/small_file.hpp"

#include <unistd.h>

namespace nightlatch::guard {
namespace {

/// The longest line that parses has 66 bytes.
constexpr std::size_t longest = 127;

Unexpected<Error> odd(const std::string& path, const std::string& what) {
    return Unexpected{Error{Trouble::other, path + ": " + what}};
}

}  // namespace

Outcome write_guard_file(const std::string& path, const GuardFile& file) {
    const std::string text = guard_text(file);
    Outcome written = parse_guard_text(text)
                          ? sys::replace_file(path, text)
                          : odd(path, "this line cannot be waited for at the end of a shutdown");
    if (!written) {
        remove_guard_file(path);
    }
    return written;
}

void remove_guard_file(const std::string& path) noexcept {
    unlink(path.c_str());
}

Result<GuardFile> read_guard_file(const std::string& path) {
    const auto text = sys::read_small_file(path, longest);
    if (!text) {
        return Unexpected{text.error()};
    }
    std::optional<GuardFile> file = parse_guard_text(*text);
    if (!file) {
        return odd(path, "not what the service writes");
    }
    return std::move(*file);
}

}  // namespace nightlatch::guard
