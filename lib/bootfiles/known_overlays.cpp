// SPDX-License-Identifier: MIT
#include "bootfiles/known_overlays.hpp"

#include "base/nearest.hpp"
#include "bootfiles/text.hpp"

#include <algorithm>
#include <array>
#include <span>

namespace nightlatch::bootfiles {
namespace {

// Parameters: the overlays' own __overrides__ and what the README says of them [raspberrypi/linux,
// arch/arm/boot/dts/overlays/README and NAME-overlay.dts, kernels 5.10 to 6.6]. gpio-shutdown's
// `debounce` and gpio-fan's `hyst` came later: an older overlay ignores them. That cannot be seen
// in the text, so they pass.
constexpr std::array<std::string_view, 7> poweroff_parameters{"gpiopin",
                                                              "active_low",
                                                              "input",
                                                              "export",
                                                              "active_delay_ms",
                                                              "inactive_delay_ms",
                                                              "timeout_ms"};
constexpr std::array<std::string_view, 4> shutdown_parameters{
    "gpio_pin", "active_low", "gpio_pull", "debounce"};
constexpr std::array<std::string_view, 5> key_parameters{
    "gpio", "active_low", "gpio_pull", "label", "keycode"};
constexpr std::array<std::string_view, 4> led_parameters{"gpio", "active_low", "label", "trigger"};
constexpr std::array<std::string_view, 2> hog_parameters{"gpio", "active_low"};
constexpr std::array<std::string_view, 3> fan_parameters{"gpiopin", "temp", "hyst"};

struct Known {
    std::string_view overlay;
    std::span<const std::string_view> parameters;
};

constexpr std::array<Known, 6> known{{{"gpio-poweroff", poweroff_parameters},
                                      {"gpio-shutdown", shutdown_parameters},
                                      {"gpio-key", key_parameters},
                                      {"gpio-led", led_parameters},
                                      {"gpio-hog", hog_parameters},
                                      {"gpio-fan", fan_parameters}}};

/// Every overlay of that family in the same README: a name among them is not a slip.
constexpr std::array<std::string_view, 11> gpio_overlays{"gpio-poweroff",
                                                         "gpio-shutdown",
                                                         "gpio-key",
                                                         "gpio-led",
                                                         "gpio-hog",
                                                         "gpio-fan",
                                                         "gpio-charger",
                                                         "gpio-ir",
                                                         "gpio-ir-tx",
                                                         "gpio-no-irq",
                                                         "gpio-no-bank0-irq"};

/// No parameter of a base tree is called so.
constexpr std::array<std::string_view, 5> only_overlays_have{
    "gpiopin", "gpio_pin", "active_delay_ms", "inactive_delay_ms", "timeout_ms"};

std::string nearest_one(std::string_view typed, std::span<const std::string_view> names) {
    const auto near = nearest(typed, names);
    return near ? "; the nearest is " + in_quotes(*near) : "";
}

template <std::size_t N>
bool holds(const std::array<std::string_view, N>& names, std::string_view name) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

}  // namespace

void check_overlay_name(std::string_view name, const FileLine& place, Draft& draft) {
    if (holds(gpio_overlays, name) || draft.remarks_full()) {
        return;
    }
    const auto near = nearest(name, gpio_overlays);
    if (near == "gpio-poweroff" || near == "gpio-shutdown") {
        draft.remark(RemarkKind::unknown_overlay,
                     place,
                     "the firmware comes with no overlay " + in_quotes(name) +
                         ", and silently skips one that is not there; the nearest is " +
                         in_quotes(*near));
    }
}

void check_parameter(std::string_view overlay, const Parameter& parameter, Draft& draft) {
    const auto* const found = std::find_if(
        known.begin(), known.end(), [&](const Known& one) { return one.overlay == overlay; });
    if (found == known.end() || draft.remarks_full()) {
        return;
    }
    const auto names = found->parameters;
    if (std::find(names.begin(), names.end(), parameter.name) == names.end()) {
        draft.remark(RemarkKind::unknown_parameter,
                     parameter.place,
                     "the overlay " + std::string(overlay) + " has no parameter " +
                         in_quotes(parameter.name) + ", and the firmware silently ignores it" +
                         nearest_one(parameter.name, names));
    }
    // Values are bare; quotes are no syntax [raspberrypi/documentation, what_is_config_txt.adoc].
    if (parameter.value.find_first_of("\"'") != std::string::npos) {
        draft.remark(RemarkKind::malformed,
                     parameter.place,
                     "quotes are part of the value " + in_quotes(parameter.value) + " of " +
                         in_quotes(parameter.name) + ": leave them out");
    }
}

void check_orphan(const Parameter& parameter, Draft& draft) {
    if (holds(only_overlays_have, parameter.name)) {
        draft.remark(RemarkKind::unknown_parameter,
                     parameter.place,
                     in_quotes(parameter.name) +
                         " is a parameter of an overlay, and no dtoverlay line is in force here: "
                         "the firmware silently ignores it");
    }
}

}  // namespace nightlatch::bootfiles
