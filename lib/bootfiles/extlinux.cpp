// SPDX-License-Identifier: MIT
#include "bootfiles/extlinux.hpp"

namespace nightlatch::bootfiles {

Intent read_extlinux(std::string_view file, std::string_view text) {
    Intent intent;
    intent.loader = Loader::extlinux;
    intent.file = file;
    (void)text;
    return intent;
}

}  // namespace nightlatch::bootfiles
