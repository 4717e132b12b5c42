// SPDX-License-Identifier: MIT
#include "daemon/facts/hang.hpp"

#include "base/text.hpp"
#include "daemon/facts/drop_ins.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

namespace nightlatch::facts {
namespace {

/// The first has the last word: a file hides those of the same name in the folders after it.
std::array<std::string, 4> folders() {
    return {"/etc/sysctl.d", "/run/sysctl.d", "/usr/local/lib/sysctl.d", "/usr/lib/sysctl.d"};
}

Known<int> number_at(const std::string& root, const std::string& path) {
    const Read<long long> number = read_number(root, path);
    return number ? Known<int>(static_cast<int>(*number))
                  : Known<int>::missing(number.error().text);
}

/// The texts of all files in the order in which they hold. One that is there and cannot be read
/// could set anything.
Read<std::vector<std::string>> settings_of(const std::string& root) {
    const auto paths = drop_ins(root, folders());
    if (!paths) {
        return Unexpected{paths.error()};
    }
    std::vector<std::string> texts;
    Budget budget = usual_budget();
    for (const std::string& path : *paths) {
        Read<std::string> text = budget.read(root, path);
        if (text) {
            texts.push_back(std::move(*text));
        } else if (!text.error().absent()) {
            return Unexpected{text.error()};
        }
    }
    return texts;
}

Known<int> setting(const Read<std::vector<std::string>>& texts, const std::string& key) {
    if (!texts) {
        return Known<int>::missing(key + ": " + texts.error().text);
    }
    std::optional<std::string> value;
    for (const std::string& text : *texts) {
        if (auto here = sysctl_in(text, key)) {
            value = std::move(here);
        }
    }
    int number = 0;
    if (value &&
        std::from_chars(value->data(), value->data() + value->size(), number).ec == std::errc{}) {
        return number;
    }
    return Known<int>::missing(key + " (the image sets none; its kernel's own default holds)");
}

Known<bool> as_bool(const Known<int>& number) {
    return number ? Known<bool>(*number != 0) : Known<bool>::missing(number.what_is_missing());
}

}  // namespace

audit::HangFacts read_hang(const std::string& root) {
    const std::string folder = "/proc/sys/kernel/";
    return {number_at(root, folder + "panic"),
            number_at(root, folder + "sysrq"),
            as_bool(number_at(root, folder + "panic_on_oops"))};
}

audit::HangFacts hang_of_image(const std::string& root) {
    const auto texts = settings_of(root);
    return {setting(texts, "kernel.panic"),
            setting(texts, "kernel.sysrq"),
            as_bool(setting(texts, "kernel.panic_on_oops"))};
}

std::optional<std::string> sysctl_in(std::string_view text, std::string_view key) {
    std::optional<std::string> value;
    for (const std::string& whole : lines_of(text)) {
        std::string_view line = trimmed(whole);
        const std::size_t equals = line.find('=');
        if (line.starts_with('#') || line.starts_with(';') || equals == std::string_view::npos) {
            continue;
        }
        line.remove_prefix(line.starts_with('-') ? 1 : 0);  // "a failure is no matter"
        std::string name(trimmed(line.substr(0, line.find('='))));
        std::replace(name.begin(), name.end(), '/', '.');
        if (name == key) {
            value = trimmed(line.substr(line.find('=') + 1));
        }
    }
    return value;
}

}  // namespace nightlatch::facts
