// SPDX-License-Identifier: MIT
#include "logbook/line.hpp"

#include "logbook/checksum.hpp"

#include <array>
#include <charconv>
#include <cstddef>
#include <cstdint>

namespace nightlatch::logbook {
namespace {

constexpr std::string_view before_length = "{\"length\":";
constexpr std::string_view before_sum = ",\"crc32c\":\"";
constexpr std::string_view before_rest = "\",";
constexpr std::size_t sum_digits = 8;

std::string hex_sum(std::string_view rest) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::uint32_t sum = crc32c(rest);
    std::string text(sum_digits, '0');
    for (std::size_t i = sum_digits; i-- > 0; sum >>= 4U) {
        text[i] = digits[sum & 0xFU];
    }
    return text;
}

bool take(std::string_view& line, std::string_view wanted) {
    const bool there = line.starts_with(wanted);
    line.remove_prefix(there ? wanted.size() : 0);
    return there;
}

}  // namespace

std::string line_around(std::string_view members) {
    const std::string rest = std::string(members) + '}';
    std::string line(before_length);
    line += std::to_string(rest.size());
    line += before_sum;
    line += hex_sum(rest);
    line += before_rest;
    line += rest;
    line += '\n';
    return line;
}

std::optional<std::string_view> members_of_line(std::string_view line) {
    if (!take(line, before_length)) {
        return std::nullopt;
    }
    std::size_t length = 0;
    const auto [end, error] = std::from_chars(line.data(), line.data() + line.size(), length);
    if (error != std::errc{}) {
        return std::nullopt;
    }
    line.remove_prefix(static_cast<std::size_t>(end - line.data()));
    if (!take(line, before_sum)) {
        return std::nullopt;
    }
    const std::string_view sum = line.substr(0, sum_digits);
    line.remove_prefix(sum.size());
    if (!take(line, before_rest) || line.size() != length || !line.ends_with('}') ||
        sum != hex_sum(line)) {
        return std::nullopt;
    }
    line.remove_suffix(1);
    return line;
}

}  // namespace nightlatch::logbook
