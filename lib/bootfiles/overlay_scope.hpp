// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/draft.hpp"
#include "bootfiles/sections.hpp"

namespace nightlatch::bootfiles {

/// Where a setting stands and whether it applies.
struct Here {
    FileLine place;
    Applies applies;
    unsigned section = 0;  ///< Sections::number()
};

/// dtoverlay and dtparam lines: which overlays are loaded, and which parameter belongs to which
/// [raspberrypi/documentation, configuration/device-tree.adoc, part 3].
class OverlayScope {
public:
    explicit OverlayScope(Draft& draft) : draft_(draft) {}

    /// "gpio-poweroff,gpiopin=6". Parameters that follow belong to it, until the next one or an
    /// empty one.
    void overlay(std::string_view value, const Here& here);

    /// "gpiopin=6,active_low": of the overlay in force, or of the base tree, which is nobody's
    /// here.
    void parameters(std::string_view value, const Here& here);

    /// overlay_prefix, os_prefix, upstream_kernel.
    void prefix(std::string_view key, std::string_view value, const Here& here);

    /// The end of the text: the prefix that stands last counts for every overlay.
    void finish();

private:
    struct Scope {
        std::optional<std::size_t> overlay;  ///< in Draft::overlays()
        unsigned section = 0;
    };

    void add_parameters(std::string_view list, const Here& here, const Scope& scope);

    Draft& draft_;
    Scope in_force_;
    Scope dead_;  ///< the last overlay that does not apply, for the parameters beside it
    Applies
        not_ended_;  ///< does the scope in force go on? Not after an empty dtoverlay that depends.
    std::string prefix_ = "overlays/";
    bool prefix_known_ = true;
    bool os_prefix_ = false;  ///< one is set, or may be
    bool prefix_stands_ = false;
};

}  // namespace nightlatch::bootfiles
