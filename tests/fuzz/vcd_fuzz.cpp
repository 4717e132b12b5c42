// SPDX-License-Identifier: MIT
#include "fuzz/capture_promises.hpp"
#include "fuzz/fuzz.hpp"
#include "wave/vcd_reader.hpp"

#include <cstdint>

using namespace nightlatch;
using namespace nightlatch::wave;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    for (const char* signal : {"", "button"}) {
        const CaptureRead read = read_vcd(text, signal);
        test::expect_kept(test::broken(read, text));
        if (text.starts_with('$')) {  // what stands before the first keyword is passed over
            test::expect_kept(
                test::broken_by_shift(read, read_vcd("$comment $end\n" + text, signal)));
        }
    }
    const std::vector<std::string> names = vcd_signals(text);
    if (!names.empty()) {
        test::expect_kept(test::broken(read_vcd(text, names.back()), text));
    }
    return 0;
}
