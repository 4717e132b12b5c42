// SPDX-License-Identifier: MIT
#include "devicetree/blob.hpp"

#include "devicetree/values.hpp"

#include <algorithm>
#include <cstring>
#include <optional>

#include <libfdt.h>

namespace nightlatch::devicetree {
namespace {

constexpr int oldest_format = 16;

Unexpected<Error> failed(std::string text) {
    return Unexpected{Error{Trouble::other, std::move(text)}};
}

/// Bytes as libfdt wants them: on an eight-byte boundary, and never shorter than a header, which it
/// reads before it knows how long that is.
class Aligned {
public:
    explicit Aligned(std::size_t bytes)
        : words_(std::max(bytes, sizeof(fdt_header)) / sizeof(std::uint64_t) + 1) {}

    explicit Aligned(std::string_view bytes) : Aligned(bytes.size()) {
        std::memcpy(data(), bytes.data(), bytes.size());
    }

    [[nodiscard]] void* data() noexcept { return words_.data(); }

private:
    std::vector<std::uint64_t> words_;
};

std::string place(int offset) {
    return " (at byte " + std::to_string(offset) + " of its structure)";
}

/// A sentence when the header is not one of a blob of at most `size` bytes.
std::optional<std::string> header_trouble(const void* fdt, std::size_t size) {
    if (size < sizeof(fdt_header)) {
        return "this is no device-tree blob: it is shorter than a blob's header";
    }
    if (fdt_magic(fdt) != FDT_MAGIC) {
        return "this is no device-tree blob: it does not begin with d0 0d fe ed";
    }
    if (fdt_version(fdt) < oldest_format ||
        fdt_last_comp_version(fdt) > FDT_LAST_SUPPORTED_VERSION) {
        return "the device-tree blob has format version " + std::to_string(fdt_version(fdt)) +
               "; 16 and 17 can be read (dtc writes 17)";
    }
    if (const int error = fdt_check_header(fdt); error != 0) {
        return std::string("the device-tree blob's header is broken: ") + fdt_strerror(error);
    }
    if (fdt_totalsize(fdt) > size) {
        return "the device-tree blob is cut short: it says that it has " +
               std::to_string(fdt_totalsize(fdt)) + " bytes, and there are " + std::to_string(size);
    }
    if (fdt_off_dt_struct(fdt) % FDT_TAGSIZE != 0) {
        return "the device-tree blob's header is broken: its structure is not aligned";
    }
    if (fdt_num_mem_rsv(fdt) < 0) {
        return "the device-tree blob's list of reserved memory has no end";
    }
    return std::nullopt;
}

/// One step of the structure at `offset`, into the builder. False at the end.
Result<bool> take_tag(const void* fdt, int offset, std::uint32_t tag, Builder& builder) {
    Outcome done = std::monostate{};
    int length = 0;
    if (tag == FDT_END) {
        return false;
    }
    if (tag == FDT_BEGIN_NODE) {
        const char* const name = fdt_get_name(fdt, offset, &length);
        if (name == nullptr) {
            return failed("the device-tree blob has a broken node: " +
                          std::string(fdt_strerror(length)) + place(offset));
        }
        done = builder.enter({name, static_cast<std::size_t>(length)});
    } else if (tag == FDT_END_NODE) {
        done = builder.leave();
    } else if (tag == FDT_PROP) {
        const char* name = nullptr;
        const void* const value = fdt_getprop_by_offset(fdt, offset, &name, &length);
        if (value == nullptr) {
            return failed("the device-tree blob has a broken property: " +
                          std::string(fdt_strerror(length)) + place(offset));
        }
        done = builder.property(
            name, {static_cast<const char*>(value), static_cast<std::size_t>(length)});
    }
    if (!done) {
        return Unexpected{done.error()};
    }
    return true;
}

/// The walk checks all that fdt_check_full() does, and stops where the limits do: that function
/// would first look up a million long names.
Result<Tree> walk(const void* fdt, Limits limits) {
    Builder builder(limits);
    int next = 0;
    for (;;) {
        const int offset = next;
        const std::uint32_t tag = fdt_next_tag(fdt, offset, &next);
        if (next < 0) {
            return failed("the device-tree blob's structure is broken: " +
                          std::string(fdt_strerror(next)) + place(offset));
        }
        const Result<bool> more = take_tag(fdt, offset, tag, builder);
        if (!more) {
            return Unexpected{more.error()};
        }
        if (!*more) {
            return builder.finish();
        }
    }
}

/// What libfdt's bare "not found" was about, as far as it can be seen. Empty when it cannot.
std::string what_is_missing(const Tree& base, const Tree& overlay) {
    const NodeId symbols = base.find("/__symbols__");
    const NodeId fixups = overlay.find("/__fixups__");
    if (fixups != no_node) {
        for (const Property& label : overlay.node(fixups).properties) {
            if (symbols == no_node) {
                return "it refers to the label " + label.name +
                       ", and the base has no labels: compile the base with them (dtc -@)";
            }
            if (!has(base, symbols, label.name)) {
                return "it refers to the label " + label.name +
                       ", which the base does not have: is it made for this board?";
            }
        }
    }
    for (NodeId id = root; id < overlay.size(); ++id) {
        const std::optional<std::string> path = text(overlay, id, "target-path");
        if (overlay.node(id).parent == root && path && base.find(*path) == no_node) {
            return "it goes to " + *path +
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
    std::string text =
        "overlay " + overlay.name + " cannot be applied (" + fdt_strerror(error) + ")";
    const Result<Tree> base_tree = read_blob(base);
    const Result<Tree> overlay_tree = read_blob(overlay.blob);
    const std::string missing =
        base_tree && overlay_tree ? what_is_missing(*base_tree, *overlay_tree) : "";
    return failed(text + ": " +
                  (missing.empty() ? "is it an overlay made for this board, compiled with dtc -@?"
                                   : missing));
}

}  // namespace

Result<Tree> read_blob(std::string_view blob, Limits limits) {
    if (blob.size() > limits.bytes) {
        return failed("the device-tree blob is larger than " + std::to_string(limits.bytes) +
                      " bytes");
    }
    Aligned aligned(blob);
    if (std::optional<std::string> trouble = header_trouble(aligned.data(), blob.size())) {
        return failed(std::move(*trouble));
    }
    return walk(aligned.data(), limits);
}

Result<std::string> apply_overlays(std::string_view base, std::span<const Overlay> overlays) {
    if (const Result<Tree> tree = read_blob(base); !tree) {
        return Unexpected{tree.error()};
    }
    std::string so_far(base);
    for (const Overlay& overlay : overlays) {
        if (const Result<Tree> tree = read_blob(overlay.blob); !tree) {
            return failed("overlay " + overlay.name + ": " + tree.error().text);
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
