// SPDX-License-Identifier: MIT
#include "bootfiles/env_txt.hpp"
#include "fuzz/fuzz.hpp"
#include "fuzz/promises.hpp"

#include <cstdint>

using namespace nightlatch;
using namespace nightlatch::bootfiles;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    const Intent intent = read_env_txt("boot", text);
    test::expect_kept(test::broken(intent, {{"boot", text}}));
    test::expect_kept(test::broken_by_shift(intent, read_env_txt("boot", "#\n" + text)));
    return 0;
}
