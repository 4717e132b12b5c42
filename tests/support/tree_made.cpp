// SPDX-License-Identifier: MIT
#include "support/tree_made.hpp"

#include "base/ensure.hpp"

#include <map>

namespace nightlatch::test {
namespace {

using devicetree::Builder;
using devicetree::no_node;
using devicetree::NodeId;
using devicetree::Tree;

constexpr std::uint32_t begin_node = 1;
constexpr std::uint32_t end_node = 2;
constexpr std::uint32_t property_tag = 3;
constexpr std::uint32_t end_tag = 9;

std::vector<std::string> parts_of(std::string_view path) {
    std::vector<std::string> parts;
    while (!path.empty()) {
        path.remove_prefix(1);
        if (const std::string_view part = path.substr(0, path.find('/')); !part.empty()) {
            parts.emplace_back(part);
        }
        path.remove_prefix(std::min(path.size(), path.find('/')));
    }
    return parts;
}

void append_cell(std::string& bytes, std::uint32_t value) {
    for (const unsigned shift : {24U, 16U, 8U, 0U}) {
        bytes += static_cast<char>(static_cast<unsigned char>(value >> shift));
    }
}

void append_padded(std::string& bytes, std::string_view more) {
    bytes += more;
    bytes.resize((bytes.size() + 3) / 4 * 4);
}

}  // namespace

Tree made_tree(const std::vector<MadeNode>& nodes) {
    Builder builder;
    std::vector<std::string> open;
    NIGHTLATCH_ENSURE(builder.enter(""));
    for (const MadeNode& node : nodes) {
        const std::vector<std::string> wanted = parts_of(node.path);
        std::size_t same = 0;
        while (same < open.size() && same < wanted.size() && open[same] == wanted[same]) {
            ++same;
        }
        for (; open.size() > same; open.pop_back()) {
            NIGHTLATCH_ENSURE(builder.leave());
        }
        for (; open.size() < wanted.size(); open.push_back(wanted[open.size()])) {
            NIGHTLATCH_ENSURE(builder.enter(wanted[open.size()]));
        }
        for (const auto& [name, value] : node.properties) {
            NIGHTLATCH_ENSURE(builder.property(name, value));
        }
    }
    for (std::size_t i = 0; i <= open.size(); ++i) {
        NIGHTLATCH_ENSURE(builder.leave());
    }
    return *builder.finish();
}

std::string cells(std::initializer_list<std::uint32_t> values) {
    std::string bytes;
    for (const std::uint32_t value : values) {
        append_cell(bytes, value);
    }
    return bytes;
}

std::string strings(std::initializer_list<std::string_view> texts) {
    std::string bytes;
    for (const std::string_view text : texts) {
        bytes += text;
        bytes += '\0';
    }
    return bytes;
}

std::string blob_of(const Tree& tree) {
    std::string structure;
    std::string names;
    std::map<std::string, std::uint32_t> places;
    std::vector<NodeId> open;
    for (NodeId id = 0; id < tree.size(); ++id) {
        for (; !open.empty() && open.back() != tree.node(id).parent; open.pop_back()) {
            append_cell(structure, end_node);
        }
        open.push_back(id);
        append_cell(structure, begin_node);
        append_padded(structure, tree.node(id).name + '\0');
        for (const devicetree::Property& property : tree.node(id).properties) {
            const auto [place, is_new] =
                places.emplace(property.name, static_cast<std::uint32_t>(names.size()));
            if (is_new) {
                names += property.name + '\0';
            }
            append_cell(structure, property_tag);
            append_cell(structure, static_cast<std::uint32_t>(property.value.size()));
            append_cell(structure, place->second);
            append_padded(structure, property.value);
        }
    }
    for (std::size_t i = 0; i < open.size(); ++i) {
        append_cell(structure, end_node);
    }
    append_cell(structure, end_tag);
    constexpr std::uint32_t header = 40;
    constexpr std::uint32_t reserved = 16;
    const auto structure_size = static_cast<std::uint32_t>(structure.size());
    const auto names_size = static_cast<std::uint32_t>(names.size());
    return cells({0xd00dfeed,
                  header + reserved + structure_size + names_size,
                  header + reserved,
                  header + reserved + structure_size,
                  header,
                  17,
                  16,
                  0,
                  names_size,
                  structure_size}) +
           std::string(reserved, '\0') + structure + names;
}

}  // namespace nightlatch::test
