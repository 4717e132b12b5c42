// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "config/load.hpp"
#include "config/to_toml.hpp"
#include "fuzz/fuzz.hpp"

#include <algorithm>
#include <cstdint>

using namespace nightlatch;
using namespace nightlatch::config;

namespace {

/// An empty string, or the promise that is broken.
std::string broken(const Loaded& loaded) {
    const Diagnostics& said = loaded.diagnostics;
    if (loaded.settings.has_value() == has_errors(said)) {
        return "taken exactly when there is no error";
    }
    if (!std::is_sorted(said.begin(), said.end(), [](const Diagnostic& a, const Diagnostic& b) {
            return a.place < b.place;
        })) {
        return "diagnostics stand by place";
    }
    for (const Diagnostic& one : said) {
        if (one.place.line < 1 || one.place.column < 1 || one.key.empty() || one.text.empty() ||
            !is_safe(one.key) || !is_safe(one.text)) {
            return "a diagnostic has a place, a key and a printable sentence: " + to_text(one, "");
        }
    }
    if (!loaded.settings) {
        return {};
    }
    const std::string printed = to_toml(*loaded.settings);
    return load(printed).settings == loaded.settings
               ? ""
               : "what is printed loads to the same settings:\n" + printed;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    test::expect_kept(broken(load({reinterpret_cast<const char*>(data), size})));
    return 0;
}
