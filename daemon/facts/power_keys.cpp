// SPDX-License-Identifier: MIT
#include "daemon/facts/power_keys.hpp"

#include "daemon/facts/files.hpp"
#include "daemon/facts/of_node.hpp"

#include <charconv>
#include <cstdint>

namespace nightlatch::facts {
namespace {

constexpr const char* inputs = "/sys/class/input";
constexpr const char* tags = "/run/udev/tags/power-switch/c";
/// KEY_POWER, KEY_SLEEP, KEY_SUSPEND, KEY_POWER2, KEY_RESTART.
constexpr unsigned keys[] = {116, 142, 205, 356, 408};

audit::PowerKeySource source_at(const std::string& root,
                                const std::string& name,
                                std::vector<unsigned> codes) {
    const std::string event = std::string(inputs) + "/" + name;
    audit::PowerKeySource source;
    source.device = name;
    source.codes = std::move(codes);
    if (const Read<std::string> its_name = read_value(root, event + "/device/name")) {
        source.name = *its_name;
    }
    if (const Read<std::string> number = read_value(root, event + "/dev")) {
        const Known<bool> tagged = is_there(root, tags + *number);
        source.tagged = tagged && *tagged;
    }
    // The event's device is the input; the input's is the one that the tree describes.
    source.node = node_of_device(root, event + "/device/device");
    return source;
}

}  // namespace

std::vector<unsigned> power_codes(std::string_view words, unsigned word_bits) {
    const std::vector<std::string> all = words_of(words);
    std::vector<unsigned> codes;
    for (const unsigned key : keys) {
        const std::size_t from_the_end = key / word_bits;
        if (from_the_end >= all.size()) {
            continue;
        }
        const std::string& word = all[all.size() - 1 - from_the_end];
        std::uint64_t bits = 0;
        const char* const end = word.data() + word.size();
        const auto [stopped, error] = std::from_chars(word.data(), end, bits, 16);
        if (error == std::errc{} && stopped == end && (bits >> (key % word_bits) & 1U) != 0) {
            codes.push_back(key);
        }
    }
    return codes;
}

Known<std::vector<audit::PowerKeySource>> read_power_keys(const std::string& root) {
    using Answer = Known<std::vector<audit::PowerKeySource>>;
    const Read<std::vector<std::string>> names = class_devices(root, "input");
    if (!names) {
        return Answer::missing(names.error().text);
    }
    std::vector<audit::PowerKeySource> found;
    for (const std::string& name : *names) {
        if (!name.starts_with("event")) {
            continue;
        }
        const std::string event = std::string(inputs) + "/" + name;
        const Read<std::string> words = read_value(root, event + "/device/capabilities/key");
        if (!words && !words.error().absent()) {
            return Answer::missing(words.error().text);
        }
        std::vector<unsigned> codes = power_codes(words ? *words : std::string{});
        if (!codes.empty()) {
            found.push_back(source_at(root, name, std::move(codes)));
        }
    }
    return found;
}

}  // namespace nightlatch::facts
