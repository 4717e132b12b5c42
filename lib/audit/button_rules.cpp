// SPDX-License-Identifier: MIT
#include "audit/button.hpp"

#include <array>

namespace nightlatch::audit {
namespace {

using std::string_view;

constexpr std::array<string_view, 1> unambiguous{"line-ambiguous"};
constexpr std::array<string_view, 1> line{"button-line"};
constexpr std::array<string_view, 5> for_free{
    "button-line", "button-not-post-halt", "button-key", "button-led", "button-claimed"};
constexpr std::array<string_view, 1> for_level{"button-free"};
constexpr std::array<string_view, 1> alarm_line{"alarm-line"};

constexpr std::array rules{
    Rule{"line-ambiguous",
         Group::button,
         "Each chip and line that the configuration names is one",
         "Neither chip labels nor line names are unique to the kernel "
         "[linux include/uapi/linux/gpio.h]: the first that answers to a name need not be the one "
         "that was meant.",
         {},
         button::names_are_unambiguous},
    Rule{"chip-by-number",
         Group::button,
         "No chip is named by its number where it has a label",
         "The number of a gpiochip is the order in which drivers came, and has changed between "
         "kernel versions on boards in the field; the label is the driver's and stays.",
         {},
         button::chips_are_named_by_label},
    Rule{"button-line",
         Group::button,
         "The button's line is there",
         "The service waits for a chip that is not there, and never sees a press.",
         unambiguous,
         button::line_is_there},
    Rule{"button-not-post-halt",
         Group::button,
         "Neither the button's line nor an alarm's is the post-halt line",
         "The kernel drives the post-halt line; a button on it would short an output, and each "
         "press would release the supply; an alarm on it would read what the kernel drives.",
         line,
         button::is_not_the_post_halt_line},
    Rule{"button-key",
         Group::button,
         "No key of the kernel is on the button's line or an alarm's",
         "A gpio-keys node makes the kernel hold the line, and its KEY_POWER makes the login "
         "manager power off at the press, without a hold time [linux "
         "Documentation/devicetree/bindings/input/gpio-keys.yaml; logind.conf(5), HandlePowerKey].",
         line,
         button::is_no_key},
    Rule{"button-led",
         Group::button,
         "No LED is on the button's line or an alarm's",
         "An LED's node makes the kernel drive the line; a button that connects it to ground or "
         "supply shorts the output.",
         line,
         button::is_no_led},
    Rule{"button-claimed",
         Group::button,
         "No hog and no other device claims the button's line or an alarm's",
         "A line has one holder: what the device tree gives to a hog or to another device the "
         "service cannot have [linux Documentation/devicetree/bindings/gpio/gpio.txt].",
         line,
         button::nobody_else_claims_it},
    Rule{"button-free",
         Group::button,
         "Nobody else holds the button's line or an alarm's",
         "A line has one holder; while somebody else has it the service gets EBUSY and asks again.",
         for_free,
         button::is_free},
    Rule{"button-function",
         Group::button,
         "The button's pin and an alarm's serve no other function",
         "Requesting a line can switch its pin from a bus, a card or a radio to GPIO, without a "
         "word [linux Documentation/driver-api/pin-control.rst]. Which function a pin has now only "
         "root can see.",
         line,
         button::has_no_other_function},
    Rule{
        "button-sleeping",
        Group::button,
        "The button's chip needs no bus transfer",
        "Behind I2C, SPI or USB an edge is seen when the bus has brought it: later, and with close "
        "ones merged.",
        line,
        button::chip_does_not_sleep},
    Rule{"button-rest",
         Group::button,
         "The button rests released",
         "A line that reads as pressed at rest takes no press: the service waits for its release "
         "first. Mostly the polarity is the wrong way round, or a pull is missing.",
         for_level,
         button::rests_released},
    Rule{"button-bias",
         Group::button,
         "The button's line is held without the service, too",
         "A bias that the service asks for ends with the service [linux "
         "Documentation/userspace-api/gpio/chardev.rst]. A line that floats then may read as "
         "pressed to the one that looks at the very end of a shutdown.",
         line,
         button::bias_stays_without_us},
    Rule{
        "alarm-line",
        Group::button,
        "Each alarm's line is there",
        "The service waits for a chip that is not there: the alarm never comes, and what it was to "
        "save is lost.",
        unambiguous,
        button::alarm_lines_are_there},
    Rule{"alarm-level",
         Group::button,
         "No alarm's level is there now",
         "With the levels swapped an alarm asks while all is well, and is silent when it matters; "
         "an output that only pulls one way, without a resistor, reads as anything.",
         alarm_line,
         button::no_alarm_is_there_now},
    Rule{"power-key",
         Group::button,
         "The login manager acts on no power key beside the button",
         "Any input device with udev's tag power-switch that sends KEY_POWER powers off at its "
         "press, as HandlePowerKey says: a key of the tree, a power chip's, a keyboard's, a "
         "remote's or one that comes by HDMI (CEC); unless somebody holds a handle-power-key lock "
         "[logind.conf(5); systemd rules.d/70-power-switch.rules].",
         {},
         button::no_power_key},
    Rule{"power-key-listener",
         Group::button,
         "Of each power key it is known who listens",
         "A power key does nothing by itself: some program has its device open and acts. Mostly "
         "that is the login manager; without one, or with it masked, nobody may listen, and a "
         "further program that has the device open acts by settings of its own [logind.conf(5), "
         "systemctl(1), Linux Documentation/input/input.rst].",
         {},
         button::listeners_are_known},
};

}  // namespace

std::span<const Rule> button_rules() {
    return rules;
}

}  // namespace nightlatch::audit
