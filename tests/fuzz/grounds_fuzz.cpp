// SPDX-License-Identifier: MIT
// A file of `audit --save`: what is read is written back as it was read; a failure is a safe line.
#include "audit/grounds.hpp"
#include "base/text.hpp"
#include "fuzz/fuzz.hpp"

#include <cstdint>

using namespace nightlatch;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto read = audit::read_grounds({reinterpret_cast<const char*>(data), size});
    if (!read) {
        test::expect_kept(is_safe(read.error()) ? "" : "a failure is a printable sentence");
        return 0;
    }
    const auto again = audit::read_grounds(audit::to_text(*read));
    test::expect_kept(again && audit::to_text(*again) == audit::to_text(*read)
                          ? ""
                          : "what was read can be written and read again");
    return 0;
}
