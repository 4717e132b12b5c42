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

Writer writer_of(std::string_view text) {
    // Not what is said of it, which may change, but the name of the place where to say it instead
    // [Debian raspi-firmware, /etc/kernel/postinst.d/z50-raspi-firmware; Debian u-boot-menu 4.2,
    // /usr/sbin/u-boot-update].
    constexpr std::size_t head_bytes = 1024;
    const std::string_view head = text.substr(0, head_bytes);
    const auto says = [head](std::string_view word) {
        const std::size_t at = head.find(word);
        const std::size_t line = head.rfind('\n', at) + 1;  // npos + 1 is 0
        return at != std::string_view::npos && head[line] == '#';
    };
    return says("/etc/default/raspi-firmware-custom") ? Writer::raspi_firmware
           : says("use: u-boot-update")               ? Writer::u_boot_menu
                                                      : Writer::nobody;
}

}  // namespace nightlatch::bootfiles
