// SPDX-License-Identifier: MIT
#include "bootfiles/overlay_scope.hpp"

#include "bootfiles/known_overlays.hpp"
#include "bootfiles/text.hpp"

namespace nightlatch::bootfiles {
namespace {

/// What the loader reads, below the prefix: "gpio-poweroff.dtbo". A name that has its ending
/// already is common; that the loader adds no second one is not documented.
std::string file_of(std::string_view name) {
    const bool has_ending = name.ends_with(".dtbo") || name.ends_with(".dtb");
    return std::string(name) + (has_ending ? "" : ".dtbo");
}

}  // namespace

void OverlayScope::overlay(std::string_view value, const Here& here) {
    // A colon may stand for the first comma [raspberrypi/firmware, issue 405; older texts of
    // configuration/device-tree.md].
    const std::size_t end = std::min(value.find_first_of(",:"), value.size());
    const std::string_view name = value.substr(0, end);
    const bool applies = here.applies.certainty != Certainty::no;
    if (name.empty() || name == "none") {  // "none": [raspberrypi/utils, dtapply]
        if (here.applies.certainty == Certainty::yes) {
            in_force_ = {};
        } else if (applies) {
            not_ended_ = here.applies;
        }
        if (end < value.size()) {
            draft_.remark(RemarkKind::malformed, here.place, "dtoverlay: no overlay is named");
        }
        return;
    }
    OverlayUse use;
    use.name = overlay_name(name);
    use.file = file_of(name);
    use.place = here.place;
    use.certainty = here.applies.certainty;
    use.condition = here.applies.condition;
    check_overlay_name(use.name, here.place, draft_);
    const Scope scope{draft_.add(std::move(use)), here.section};
    if (applies) {
        // One that depends takes the parameters after it: when it is not loaded they may belong to
        // the overlay before it, which nobody means.
        in_force_ = scope;
        not_ended_ = {};
    } else {
        dead_ = scope;
    }
    if (end < value.size()) {
        add_parameters(value.substr(end + 1), {here.place, {}, here.section}, scope);
    }
}

void OverlayScope::parameters(std::string_view value, const Here& here) {
    if (here.applies.certainty == Certainty::no) {
        if (dead_.overlay && dead_.section == here.section) {
            add_parameters(value, {here.place, {}, here.section}, dead_);
        }
        return;
    }
    // In one section with its overlay a parameter stands or falls with it.
    const bool beside = in_force_.section == here.section;
    add_parameters(
        value, {here.place, both(beside ? Applies{} : here.applies, not_ended_), 0}, in_force_);
}

void OverlayScope::add_parameters(std::string_view list, const Here& here, const Scope& scope) {
    for (const std::string_view one : split(list, ',')) {
        if (one.empty()) {
            continue;
        }
        const std::size_t equals = std::min(one.find('='), one.size());
        Parameter parameter{std::string(one.substr(0, equals)),
                            std::string(one.substr(std::min(equals + 1, one.size()))),
                            here.place,
                            here.applies.certainty,
                            here.applies.condition};
        if (!scope.overlay) {
            check_orphan(parameter, draft_);
            continue;
        }
        check_parameter(draft_.overlays().at(*scope.overlay).name, parameter, draft_);
        draft_.add(*scope.overlay, std::move(parameter));
    }
}

void OverlayScope::prefix(std::string_view key, std::string_view value, const Here& here) {
    if (here.applies.certainty == Certainty::no) {
        return;
    }
    if (key != "overlay_prefix") {
        // With an os_prefix the place hangs on whether a README lies there
        // [raspberrypi/documentation, config_txt/boot.adoc, os_prefix]; upstream_kernel sets one.
        const bool none = here.applies.certainty == Certainty::yes &&
                          (value.empty() || (key == "upstream_kernel" && value == "0"));
        os_prefix_ = !none;
        return;
    }
    if (prefix_stands_) {
        draft_.remark(
            RemarkKind::repeated, here.place, "overlay_prefix stands again: the last one holds");
    }
    prefix_stands_ = true;
    prefix_ = value;
    prefix_known_ = here.applies.certainty == Certainty::yes;
}

void OverlayScope::finish() {
    const bool prefix_holds = prefix_known_ && !os_prefix_;
    for (OverlayUse& use : draft_.overlays()) {
        // "using an absolute path (with respect to the boot partition)" bypasses all prefixes.
        if (!use.file.starts_with('/')) {
            use.file = prefix_holds ? prefix_ + use.file : "";
        }
    }
}

}  // namespace nightlatch::bootfiles
