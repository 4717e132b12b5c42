// SPDX-License-Identifier: MIT
#include "daemon/facts/kernel_config.hpp"

#include "base/handle.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/facts/kernel.hpp"

#include <array>

#include <zlib.h>

namespace nightlatch::facts {
namespace {

constexpr const char* packed = "/proc/config.gz";
constexpr std::string_view option = "CONFIG_POWER_RESET_GPIO";

void end_inflate(z_stream* stream) noexcept {
    inflateEnd(stream);
}

}  // namespace

Known<audit::Built> post_halt_in_config(std::string_view text, const std::string& file) {
    bool is_config = false;
    for (const std::string& line : lines_of(text)) {
        is_config = is_config || line.starts_with("CONFIG_");
        if (line == std::string(option) + "=y") {
            return audit::Built::in;
        }
        if (line == std::string(option) + "=m") {
            return audit::Built::module;
        }
    }
    if (!is_config) {
        return Known<audit::Built>::missing(file + " (is not a kernel configuration)");
    }
    return audit::Built::out;
}

Result<std::string> unpacked(std::string_view bytes, std::size_t most) {
    z_stream stream{};
    constexpr int gzip_only = 16;  // added to the window's bits [zlib.h, inflateInit2]
    if (inflateInit2(&stream, MAX_WBITS + gzip_only) != Z_OK) {
        return Unexpected{Error{Trouble::other, "zlib has no memory"}};
    }
    const Handle<z_stream, end_inflate> open(&stream);
    // zlib takes its input as not const and does not write to it.
    std::string input(bytes);

    stream.next_in = reinterpret_cast<Bytef*>(input.data());
    stream.avail_in = static_cast<uInt>(input.size());
    std::string text;
    std::array<char, 16'384> part{};
    for (int state = Z_OK; state != Z_STREAM_END;) {
        stream.next_out = reinterpret_cast<Bytef*>(part.data());
        stream.avail_out = static_cast<uInt>(part.size());
        state = inflate(&stream, Z_NO_FLUSH);
        if (state != Z_OK && state != Z_STREAM_END) {
            return Unexpected{Error{Trouble::other, "broken or cut gzip data"}};
        }
        text.append(part.data(), part.size() - stream.avail_out);
        if (text.size() > most) {
            return Unexpected{Error{Trouble::other, "unpacks to more than it may"}};
        }
    }
    return text;
}

Known<audit::Built> read_post_halt_config(const std::string& root, const std::string& release) {
    const std::string plain = "/boot/config-" + release;
    if (const Read<std::string> text = read_file(root, plain)) {
        return post_halt_in_config(*text, root + plain);
    }
    const Read<std::string> bytes = read_file(root, packed);
    if (!bytes) {
        return Known<audit::Built>::missing("the kernel's configuration (neither " + root + plain +
                                            " nor " + root + packed + " can be read)");
    }
    const Result<std::string> text = unpacked(*bytes, most_file_bytes);
    if (!text) {
        return Known<audit::Built>::missing(root + packed + " (" + text.error().text + ")");
    }
    return post_halt_in_config(*text, root + packed);
}

Known<audit::Built> post_halt_config_of(const std::string& root,
                                        const Known<std::vector<audit::KernelVersion>>& kernels) {
    using Answer = Known<audit::Built>;
    if (!kernels) {
        return Answer::missing(kernels.what_is_missing());
    }
    Answer all;
    for (const audit::KernelVersion& kernel : *kernels) {
        Answer one = read_post_halt_config(root, kernel.release);
        if (!one) {
            return one;
        }
        if (all && *all != *one) {
            return Answer::missing("which of the image's kernels boots (" + names_of(*kernels) +
                                   "): one has the post-halt driver, another has not");
        }
        all = one;
    }
    return all;
}

}  // namespace nightlatch::facts
