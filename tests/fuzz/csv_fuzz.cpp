// SPDX-License-Identifier: MIT
#include "fuzz/capture_promises.hpp"
#include "fuzz/fuzz.hpp"
#include "wave/csv_reader.hpp"

#include <cstdint>

using namespace nightlatch;
using namespace nightlatch::wave;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    for (const char* signal : {"", "button"}) {
        test::expect_kept(test::broken(read_csv(text, signal), text));
        test::expect_kept(test::broken(
            read_csv(text, signal, most_captured_edges, Thresholds{800'000'000, 2'000'000'000}),
            text));
    }
    return 0;
}
