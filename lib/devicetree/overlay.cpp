// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "devicetree/aligned.hpp"
#include "devicetree/blob.hpp"
#include "devicetree/values.hpp"

#include <algorithm>
#include <optional>

namespace nightlatch::devicetree {
namespace {

Unexpected<Error> failed(std::string text) {
    return Unexpected{Error{Trouble::other, std::move(text)}};
}

/// An overlay's own size is a few kilobytes; looking things up in it takes libfdt quadratic time.
constexpr Limits overlay_limits{
    .depth = 64, .nodes = 8192, .properties = 32'768, .bytes = std::size_t{1} << 20U};

constexpr const char* broken_tables =
    "its tables of references (__fixups__, __local_fixups__) are broken: compile it anew, with "
    "dtc -@";

/// libfdt takes the offsets in both tables on trust, and writes where they say [dtc libfdt/
/// fdt_overlay.c, overlay_update_local_node_references and overlay_fixup_phandle; a test with
/// damaged overlays showed it]. So they are checked before.
bool local_offsets_fit(const void* overlay, int fixups, int node) {
    for (int at = fdt_first_property_offset(overlay, fixups); at >= 0;
         at = fdt_next_property_offset(overlay, at)) {
        const char* name = nullptr;
        int table = 0;
        int length = 0;
        const void* const value = fdt_getprop_by_offset(overlay, at, &name, &table);
        const std::string_view property = name == nullptr ? "" : name;
        // A phandle within the table would be renumbered with the others: after this check.
        if (value == nullptr || property == "phandle" || property == "linux,phandle" ||
            fdt_getprop(overlay, node, name, &length) == nullptr) {
            return false;
        }
        const auto offsets =
            cells_of({static_cast<const char*>(value), static_cast<std::size_t>(table)});
        const auto end = static_cast<std::uint32_t>(length);
        if (!offsets || std::any_of(offsets->begin(), offsets->end(), [&](std::uint32_t offset) {
                return end < sizeof(fdt32_t) || offset > end - sizeof(fdt32_t);
            })) {
            return false;
        }
    }
    return true;
}

/// A node of the table and the one that it is about, looked up as libfdt will.
struct Pair {
    int fixups;
    int node;
};

/// The children of both; nothing when they do not match.
std::optional<std::vector<Pair>> below(const void* overlay, const Pair& above) {
    std::vector<Pair> pairs;
    for (int child = fdt_first_subnode(overlay, above.fixups); child >= 0;
         child = fdt_next_subnode(overlay, child)) {
        const std::string_view name = fdt_get_name(overlay, child, nullptr);
        const int node = fdt_subnode_offset(overlay, above.node, name.data());
        // The tables must not change themselves.
        if (node < 0 || (above.node == 0 && name.starts_with("__"))) {
            return std::nullopt;
        }
        pairs.push_back({child, node});
    }
    return pairs;
}

bool local_fixups_fit(const void* overlay) {
    const int top = fdt_path_offset(overlay, "/__local_fixups__");
    std::vector<Pair> left;
    if (top >= 0) {
        left.push_back({top, 0});
    }
    while (!left.empty()) {
        const Pair here = left.back();
        left.pop_back();
        const auto more = below(overlay, here);
        if (!more || !local_offsets_fit(overlay, here.fixups, here.node)) {
            return false;
        }
        left.insert(left.end(), more->begin(), more->end());
    }
    return true;
}

/// "/path:property:offset". More digits would wrap around in libfdt, and a sign would too.
bool is_reference(std::string_view text) {
    const std::size_t name = text.find(':');
    const std::size_t offset = text.rfind(':');
    const bool elsewhere =
        !text.starts_with('/') || text.starts_with("//") || text.starts_with("/__");
    if (elsewhere || name == offset || text.size() - offset > 8) {
        return false;
    }
    const std::string_view digits = text.substr(offset + 1);
    return all_digits(digits);
}

bool are_references(const Property& label) {
    const std::vector<std::string> all = strings_of(label.value);
    return !all.empty() && std::all_of(all.begin(), all.end(), is_reference);
}

bool fixups_fit(const Tree& overlay) {
    for (NodeId id = root; id < overlay.size(); ++id) {
        const Node& node = overlay.node(id);
        // As libfdt looks for it: with a unit address too.
        if (node.parent == root && node.name.starts_with("__fixups__") &&
            !std::all_of(node.properties.begin(), node.properties.end(), are_references)) {
            return false;
        }
    }
    return true;
}

/// What libfdt's bare "not found" was about, as far as it can be seen. Empty when it cannot.
std::string what_is_missing(const Tree& base, const Tree& overlay) {
    const NodeId symbols = base.find("/__symbols__");
    const NodeId fixups = overlay.find("/__fixups__");
    const std::vector<Property> labels =
        fixups == no_node ? std::vector<Property>{} : overlay.node(fixups).properties;
    for (const Property& label : labels) {
        if (symbols == no_node) {
            return "it refers to the label " + label.name +
                   ", and the base has no labels: compile the base with them (dtc -@)";
        }
        if (!has(base, symbols, label.name)) {
            return "it refers to the label " + label.name +
                   ", which the base does not have: is it made for this board?";
        }
    }
    for (NodeId id = root; id < overlay.size(); ++id) {
        const std::optional<std::string> path = text(overlay, id, "target-path");
        if (overlay.node(id).parent == root && path && base.find(*path) == no_node) {
            return "it goes to " + shortened(*path) +
                   ", which the base does not have: is it made for this board?";
        }
    }
    return "";
}

/// Applies one overlay in as much room as it turns out to need. libfdt spoils both blobs when it
/// fails, so each try has its own.
Result<std::string> apply_one(const std::string& base, const Overlay& overlay) {
    constexpr std::size_t most_room = std::size_t{16} << 20U;
    int error = -FDT_ERR_NOSPACE;
    for (std::size_t room = base.size() + 4 * overlay.blob.size() + 4096;
         error == -FDT_ERR_NOSPACE && room <= most_room;
         room *= 2) {
        Aligned from(base);
        Aligned added(overlay.blob);
        Aligned into(room);
        error = fdt_open_into(from.data(), into.data(), static_cast<int>(room));
        if (error == 0) {
            error = fdt_overlay_apply(into.data(), added.data());
        }
        if (error == 0) {
            error = fdt_pack(into.data());
        }
        if (error == 0) {
            return std::string(static_cast<const char*>(into.data()), fdt_totalsize(into.data()));
        }
    }
    const std::string text = "overlay " + overlay.name + " cannot be applied";
    const Result<Tree> base_tree = read_blob(base);
    const Result<Tree> overlay_tree = read_blob(overlay.blob);
    const std::string missing =
        base_tree && overlay_tree ? what_is_missing(*base_tree, *overlay_tree) : "";
    if (!missing.empty()) {  // libfdt's own word for it differs from version to version
        return failed(text + ": " + missing);
    }
    return failed(text + " (" + fdt_strerror(error) +
                  "): is it an overlay made for this board, compiled with dtc -@?");
}

}  // namespace

Result<std::string> apply_overlays(std::string_view base, std::span<const Overlay> overlays) {
    if (const Result<Tree> tree = read_blob(base); !tree) {
        return Unexpected{tree.error()};
    }
    std::string so_far(base);
    for (const Overlay& overlay : overlays) {
        const Result<Tree> tree = read_blob(overlay.blob, overlay_limits);
        if (!tree) {
            return failed("overlay " + overlay.name + ": " + tree.error().text);
        }
        if (!fixups_fit(*tree) || !local_fixups_fit(Aligned(overlay.blob).data())) {
            return failed("overlay " + overlay.name + ": " + broken_tables);
        }
        Result<std::string> next = apply_one(so_far, overlay);
        if (!next) {
            return next;
        }
        so_far = std::move(*next);
    }
    return so_far;
}

}  // namespace nightlatch::devicetree
