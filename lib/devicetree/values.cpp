// SPDX-License-Identifier: MIT
#include "devicetree/values.hpp"

namespace nightlatch::devicetree {
namespace {

constexpr std::size_t cell_bytes = 4;

std::uint32_t cell_at(std::string_view value, std::size_t at) {
    std::uint32_t cell = 0;
    for (std::size_t i = 0; i < cell_bytes; ++i) {
        cell = cell << 8U | static_cast<unsigned char>(value[at + i]);
    }
    return cell;
}

}  // namespace

std::optional<std::vector<std::uint32_t>> cells_of(std::string_view value) {
    if (value.size() % cell_bytes != 0) {
        return std::nullopt;
    }
    std::vector<std::uint32_t> cells;
    cells.reserve(value.size() / cell_bytes);
    for (std::size_t at = 0; at < value.size(); at += cell_bytes) {
        cells.push_back(cell_at(value, at));
    }
    return cells;
}

std::vector<std::string> strings_of(std::string_view value) {
    std::vector<std::string> strings;
    if (!value.ends_with('\0')) {
        return strings;
    }
    while (!value.empty()) {
        strings.emplace_back(value.substr(0, value.find('\0')));
        value.remove_prefix(strings.back().size() + 1);
    }
    return strings;
}

std::string hex(std::uint64_t number) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text;
    do {
        text.insert(text.begin(), digits[number % 16]);
        number /= 16;
    } while (number != 0);
    return text;
}

std::optional<std::uint32_t> cell(const Tree& tree, NodeId node, std::string_view name) {
    const std::string* const value = tree.value(node, name);
    if (value == nullptr || value->size() != cell_bytes) {
        return std::nullopt;
    }
    return cell_at(*value, 0);
}

std::optional<std::string> text(const Tree& tree, NodeId node, std::string_view name) {
    const std::string* const value = tree.value(node, name);
    if (value == nullptr || !value->ends_with('\0')) {
        return std::nullopt;
    }
    return value->substr(0, value->find('\0'));
}

bool has(const Tree& tree, NodeId node, std::string_view name) {
    return tree.value(node, name) != nullptr;
}

bool is_compatible(const Tree& tree, NodeId node, std::string_view compatible) {
    const std::string* const value = tree.value(node, "compatible");
    if (value == nullptr) {
        return false;
    }
    std::string_view left = value->ends_with('\0') ? *value : std::string_view{};
    while (!left.empty()) {
        const std::string_view first = left.substr(0, left.find('\0'));
        if (first == compatible) {
            return true;
        }
        left.remove_prefix(first.size() + 1);
    }
    return false;
}

bool is_okay(const Tree& tree, NodeId node) {
    if (!has(tree, node, "status")) {
        return true;
    }
    const std::optional<std::string> status = text(tree, node, "status");
    return status == "okay" || status == "ok";
}

bool is_enabled(const Tree& tree, NodeId node) {
    for (NodeId at = node; at != no_node; at = tree.node(at).parent) {
        if (!is_okay(tree, at)) {
            return false;
        }
    }
    return true;
}

}  // namespace nightlatch::devicetree
