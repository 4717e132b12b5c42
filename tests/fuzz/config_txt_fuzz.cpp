// SPDX-License-Identifier: MIT
// The input is config.txt; after a line "%%" follow files that it may
// include, called a, b, c and so on. The board goes by the input's size.
#include "bootfiles/config_txt.hpp"
#include "fuzz/fuzz.hpp"
#include "fuzz/promises.hpp"

#include <array>
#include <cstdint>

using namespace nightlatch;
using namespace nightlatch::bootfiles;

namespace {

const std::array<std::vector<std::string>, 4> boards{{{},
                                                      {"raspberrypi,4-model-b", "brcm,bcm2711"},
                                                      {"raspberrypi,5-model-b", "brcm,bcm2712"},
                                                      {"harbour,tide-gauge"}}};

test::Texts files_of(std::string_view input) {
    constexpr std::string_view between = "\n%%\n";
    test::Texts files;
    std::string name = "config.txt";
    for (char next = 'a';; ++next) {
        const std::size_t end = input.find(between);
        files[name] = input.substr(0, end);
        if (end == std::string_view::npos || next > 'z') {
            return files;
        }
        input.remove_prefix(end + between.size());
        name = next;
    }
}

Intent read(const test::Texts& files, const std::vector<std::string>& board) {
    return read_config_txt("config.txt",
                           files.at("config.txt"),
                           board,
                           [&](std::string_view name) -> std::optional<std::string> {
                               const auto found = files.find(name);
                               return found == files.end() ? std::nullopt
                                                           : std::optional(found->second);
                           });
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    test::Texts files = files_of({reinterpret_cast<const char*>(data), size});
    const std::vector<std::string>& board = boards[size % boards.size()];
    const Intent intent = read(files, board);
    test::expect_kept(test::broken(intent, files));
    files["config.txt"].insert(0, "#\n");
    test::expect_kept(test::broken_by_shift(intent, read(files, board)));
    return 0;
}
