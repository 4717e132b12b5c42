// SPDX-License-Identifier: MIT
#include "bootfiles/intent.hpp"

namespace nightlatch::bootfiles {

std::string_view text_of(Loader loader) noexcept {
    switch (loader) {
    case Loader::config_txt:
        return "config.txt";
    case Loader::env_txt:
        return "the boot script's environment file";
    case Loader::extlinux:
        return "extlinux.conf";
    }
    return "";
}

}  // namespace nightlatch::bootfiles
