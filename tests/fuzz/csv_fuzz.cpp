// SPDX-License-Identifier: MIT
#include "fuzz/capture_promises.hpp"
#include "fuzz/fuzz.hpp"
#include "wave/csv_reader.hpp"
#include "wave/volts_reader.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

using namespace nightlatch;
using namespace nightlatch::wave;

namespace {

/// An empty string, or the promise that is broken.
std::string broken(const VoltsRead& read) {
    if (read.curves.has_value() == std::any_of(read.problems.begin(),
                                               read.problems.end(),
                                               [](const Problem& one) { return one.error; })) {
        return "curves exactly where no problem is an error";
    }
    for (const auto& curve : read.curves.value_or(std::vector<std::vector<VoltPoint>>{})) {
        for (std::size_t i = 0; i < curve.size(); ++i) {
            if (!std::isfinite(curve[i].volts) || (i > 0 && curve[i].at < curve[i - 1].at)) {
                return "voltages are finite, and times do not go back";
            }
        }
    }
    return {};
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    for (const char* signal : {"", "button"}) {
        test::expect_kept(test::broken(read_csv(text, signal), text));
        test::expect_kept(test::broken(
            read_csv(text, signal, most_captured_edges, Thresholds{800'000'000, 2'000'000'000}),
            text));
    }
    const std::vector<std::string> names{"rail", "button"};
    test::expect_kept(broken(read_volts({"scope.csv", text}, names)));
    return 0;
}
