// SPDX-License-Identifier: MIT
#include "audit/remedy_place.hpp"

#include "audit/boot_rules.hpp"
#include "audit/claims.hpp"
#include "base/text.hpp"

namespace nightlatch::audit {
namespace {

using bootfiles::Intent;
using bootfiles::Loader;
using bootfiles::Writer;

/// A block of an answer, up to the line to paste.
std::string put(const std::string& file, const std::string& where, const std::string& line) {
    return "Copy " + file + " " + where + ", and reboot:\n    " + line;
}

std::string beside_config_txt(const Intent& intent, const std::string& name) {
    return put(name + ".dtbo",
               "into the folder overlays beside " + safe(intent.file) +
                   ", add this at the end of " + lasting_file(intent),
               "[all]\n    dtoverlay=" + name);
}

/// The scripts that read such a text differ in the word.
std::string for_boot_script(const Intent& intent, const std::string& name) {
    const std::string& word = intent.overlay_word;
    const std::string file = name + ".dtbo";
    if (word.empty()) {
        return put(
            file,
            "to where the boot script of this board takes overlays from: which word of " +
                safe(intent.file) +
                " it reads for them could not be seen, and stands in its boot.cmd or in what "
                "its U-Boot prints by `printenv`",
            "WORD=" + name);
    }
    if (word == "user_overlays=") {
        return put(file,
                   "to /boot/overlay-user/, add the name to the one user_overlays line of " +
                       safe(intent.file),
                   word + name);
    }
    if (word.ends_with('/')) {
        return put(file,
                   "to " + word.substr(word.find('=') + 1) + ", add this to " + safe(intent.file) +
                       " (with enable_uboot_overlays=1)",
                   word + file);
    }
    return put(
        file,
        "to the folder of the overlays that stand there already, add it to the one such line "
        "of " +
            safe(intent.file),
        word + "… " + file);
}

std::string for_extlinux(const Intent& intent, const std::string& name) {
    if (intent.writer == Writer::u_boot_menu) {
        return "Copy " + name +
               ".dtbo to /boot/dtbo/ (with U_BOOT_FDT_OVERLAYS= set in "
               "/etc/default/u-boot, name it there too), from which " +
               safe(intent.file) +
               " is written at every update, and:\n    sudo u-boot-update && sudo reboot";
    }
    return put(name + ".dtbo",
               "to /boot/, add it to the fdtoverlays line of the label that boots in " +
                   safe(intent.file),
               "fdtoverlays /boot/" + name + ".dtbo");
}

std::string place_for(const Scene& scene, const std::string& name) {
    if (const auto* intent = boot_text_of(scene, Loader::config_txt)) {
        return beside_config_txt(*intent, name);
    }
    if (const auto* intent = boot_text_of(scene, Loader::env_txt)) {
        return for_boot_script(*intent, name);
    }
    if (const auto* intent = boot_text_of(scene, Loader::extlinux)) {
        return for_extlinux(*intent, name);
    }
    return "How this board's boot loader takes overlays could not be seen. Without one, put it "
           "into the board's tree and let the loader load that:\n"
           "    fdtoverlay -i BOARD.dtb -o NEW.dtb " +
           name + ".dtbo";
}

}  // namespace

const Intent* boot_text_of(const Scene& scene, Loader loader) {
    for (const Intent& intent : boot_texts(scene)) {
        if (intent.loader == loader) {
            return &intent;
        }
    }
    return nullptr;
}

std::string compile_command(std::string_view name) {
    const std::string file(name);
    // An overlay's controller is the base tree's: its cells are not in this source, and a phandle's
    // bare number refers to nothing in it.
    return "dtc -@ -W no-gpios_property -I dts -O dtb -o " + file + ".dtbo " + file + ".dts";
}

std::string where_to_put_it(const Scene& scene) {
    const std::string file(our_overlay);
    return "Save it as " + file + ".dts and compile it:\n    " + compile_command(file) + "\n" +
           place_for(scene, file);
}

}  // namespace nightlatch::audit
