// SPDX-License-Identifier: MIT
#include "daemon/facts/overlay_files.hpp"

#include "devicetree/blob.hpp"
#include "devicetree/values.hpp"

#include <algorithm>

namespace nightlatch::facts {
namespace {

using bootfiles::FileSeen;
using bootfiles::Loader;
using bootfiles::OverlayUse;

constexpr std::string_view parametric = "gpio-poweroff";

std::string folder_of(const std::string& path) {
    return path.substr(0, path.rfind('/') + 1);
}

/// Overlay folders of boot scripts lie below dtb/, some in a vendor's folder there
/// [armbian/documentation, User-Guide_Armbian_overlays].
std::vector<std::string> kernel_folders(const std::string& root) {
    const std::string trees = "/boot/dtb/";
    std::vector<std::string> folders{trees};
    const auto names = names_in(root, trees);
    for (const std::string& name : names ? *names : std::vector<std::string>{}) {
        folders.push_back(trees + name + "/");
    }
    return folders;
}

/// With an os_prefix the firmware takes the overlays from there if that folder has a README, else
/// from beside config.txt [raspberrypi/documentation, config_txt/boot.adoc]; upstream_kernel's is
/// "upstream/".
std::vector<std::string> places_of_firmware(const std::string& beside, const OverlayUse& use) {
    if (!use.file.empty()) {
        return {use.file.starts_with('/') ? beside + use.file.substr(1) : beside + use.file};
    }
    const std::string file = "overlays/" + use.name + ".dtbo";
    return {beside + file, beside + "upstream/" + file};
}

std::vector<std::string> places_of_script(const std::string& root, const OverlayUse& use) {
    if (use.file.starts_with('/')) {
        return {use.file};
    }
    if (use.file.starts_with("overlay-user/")) {
        return {"/boot/" + use.file};
    }
    if (use.file.starts_with("overlay/")) {
        std::vector<std::string> places;
        for (const std::string& folder : kernel_folders(root)) {
            places.push_back(folder + use.file);
            places.push_back(folder + "overlay/" + use.name + ".dtbo");  // newer scripts
        }
        return places;
    }
    return {};  // up to the script
}

/// A path counts from the root of the loader's own partition, which is / or /boot; one without a
/// "/" in front from the file's folder [U-Boot boot/pxe_utils.c, get_relfile].
std::vector<std::string> places_of_extlinux(const std::string& beside, const OverlayUse& use) {
    if (!use.file.starts_with('/')) {
        return {beside + use.file};
    }
    return {use.file, "/boot" + use.file};
}

std::vector<std::string> places_of(const std::string& root,
                                   const bootfiles::Intent& intent,
                                   const OverlayUse& use) {
    const std::string beside = folder_of(intent.file);
    switch (intent.loader) {
    case Loader::config_txt:
        return places_of_firmware(beside, use);
    case Loader::env_txt:
        return places_of_script(root, use);
    case Loader::extlinux:
        return places_of_extlinux(beside, use);
    }
    return {};
}

/// The firmware gives some names another file by this map, in which each is a node's: after the
/// token that begins one [Devicetree Specification 0.4, 5.4.1; raspberrypi/documentation,
/// configuration/device-tree.adoc, the overlay map].
bool is_mapped(const std::string& root, const bootfiles::Intent& intent, const OverlayUse& use) {
    if (intent.loader != Loader::config_txt) {
        return false;
    }
    const auto map = read_file(root, folder_of(intent.file) + "overlays/overlay_map.dtb");
    return map && map->find('\1' + use.name + '\0') != std::string::npos;
}

void look(const std::string& root, bootfiles::Intent& intent, OverlayUse& use, Budget& budget) {
    const std::vector<std::string> places = places_of(root, intent, use);
    for (const std::string& place : places) {
        const Read<std::string> blob = budget.read(root, place);
        if (blob) {
            use.content = {FileSeen::there, place, post_halt_in_overlay(*blob)};
            return;
        }
        if (!blob.error().absent()) {
            use.content = {FileSeen::not_looked, blob.error().text, {}};
            return;
        }
        use.content.where.append(use.content.where.empty() ? "" : ", ").append(root).append(place);
    }
    // Where the folder hangs on an os_prefix, only the program whose prefix is known can be judged.
    const bool known = !places.empty() && !is_mapped(root, intent, use) &&
                       (!use.file.empty() || intent.writer == bootfiles::Writer::raspi_firmware);
    use.content.seen = known ? FileSeen::missing : FileSeen::not_looked;
}

/// Each label of the tree that the overlay is put into is a property there, with the places that
/// refer to it [dtc Documentation/dt-object-internal.txt].
std::string label_at(const devicetree::Tree& overlay, const std::string& place) {
    const devicetree::NodeId fixups = overlay.find("/__fixups__");
    if (fixups == devicetree::no_node) {
        return {};
    }
    for (const devicetree::Property& label : overlay.node(fixups).properties) {
        const std::vector<std::string> places = devicetree::strings_of(label.value);
        if (std::find(places.begin(), places.end(), place) != places.end()) {
            return label.name;
        }
    }
    return {};
}

bootfiles::PostHaltSeen seen_at(const devicetree::Tree& tree, devicetree::NodeId node) {
    bootfiles::PostHaltSeen seen;
    seen.node = tree.node(node).name;
    seen.controller = label_at(tree, tree.path_of(node) + ":gpios:0");
    seen.active_ms = devicetree::cell(tree, node, "active-delay-ms").value_or(seen.active_ms);
    const std::string* const value = tree.value(node, "gpios");
    const auto cells = value != nullptr ? devicetree::cells_of(*value) : std::nullopt;
    // A reference to the controller, the line, flags. Where there are more, its driver counts in a
    // way of its own.
    if (cells && cells->size() == 3) {
        seen.offset = cells->at(1);
    }
    if (cells && cells->size() > 2) {
        seen.active_low = (cells->back() & 1U) != 0;  // include/dt-bindings/gpio/gpio.h
    }
    return seen;
}

}  // namespace

std::optional<bootfiles::PostHaltSeen> post_halt_in_overlay(std::string_view blob) {
    const auto tree = devicetree::read_blob(blob);
    if (!tree) {
        return std::nullopt;
    }
    for (devicetree::NodeId node = 0; node < tree->size(); ++node) {
        if (devicetree::is_compatible(*tree, node, parametric)) {
            return seen_at(*tree, node);
        }
    }
    return std::nullopt;
}

void look_for_overlays(const std::string& root, bootfiles::Intent& intent, Budget& budget) {
    for (OverlayUse& use : intent.overlays) {
        if (use.certainty != bootfiles::Certainty::no) {
            look(root, intent, use, budget);
        }
    }
    if (intent.loader == Loader::config_txt) {
        OverlayUse usual;
        usual.name = parametric;
        usual.file = "overlays/gpio-poweroff.dtbo";
        look(root, intent, usual, budget);
        intent.parametric_overlay = usual.content.seen;
    }
}

}  // namespace nightlatch::facts
