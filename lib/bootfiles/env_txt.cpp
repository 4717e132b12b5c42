// SPDX-License-Identifier: MIT
#include "bootfiles/env_txt.hpp"

namespace nightlatch::bootfiles {

Intent read_env_txt(std::string_view file, std::string_view text) {
    Intent intent;
    intent.loader = Loader::env_txt;
    intent.file = file;
    (void)text;
    return intent;
}

}  // namespace nightlatch::bootfiles
