// SPDX-License-Identifier: MIT
#include "devicetree/blob.hpp"

#include "devicetree/aligned.hpp"

#include <optional>

namespace nightlatch::devicetree {
namespace {

constexpr int oldest_format = 16;

Unexpected<Error> failed(std::string text) {
    return Unexpected{Error{Trouble::other, std::move(text)}};
}

std::string place(int offset) {
    return " (at byte " + std::to_string(offset) + " of its structure)";
}

/// A sentence when the header is not one of a blob of at most `size` bytes.
std::optional<std::string> header_trouble(const void* fdt, std::size_t size) {
    if (size < sizeof(fdt_header)) {
        return "this is not a device-tree blob: it is shorter than a blob's header";
    }
    if (fdt_magic(fdt) != FDT_MAGIC) {
        return "this is not a device-tree blob: it does not begin with d0 0d fe ed";
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
    // libfdt takes this to be checked; a load of 64 bits from elsewhere is a bus error on 32-bit
    // ARM [Devicetree Specification, "Alignment"].
    if (fdt_off_mem_rsvmap(fdt) % sizeof(fdt_reserve_entry::address) != 0) {
        return "the device-tree blob's header is broken: its list of reserved memory is not "
               "aligned";
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

}  // namespace nightlatch::devicetree
