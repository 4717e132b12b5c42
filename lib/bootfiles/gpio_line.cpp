// SPDX-License-Identifier: MIT
#include "bootfiles/gpio_line.hpp"

#include "bootfiles/text.hpp"

namespace nightlatch::bootfiles {
namespace {

/// No chip of the family has more lines than 58 (BCM2711); this only bounds a range.
constexpr unsigned highest_line = 63;

/// "3" or "3-5"; false when it is neither.
bool add_lines(std::string_view text, std::vector<unsigned>& lines) {
    const std::size_t dash = text.find('-');
    const auto first = number_in(text.substr(0, dash));
    const auto last = dash == std::string_view::npos ? first : number_in(text.substr(dash + 1));
    if (!first || !last || *first > *last || *last > highest_line) {
        return false;
    }
    for (unsigned line = *first; line <= *last; ++line) {
        lines.push_back(line);
    }
    return true;
}

/// False when there is no such option.
bool add_option(std::string_view option, EarlyLine& state) {
    using Pull = EarlyLine::Pull;
    using Drive = EarlyLine::Drive;
    // a0 to a5: another function has the line. Newer chips have up to a8.
    const bool function =
        option.size() == 2 && option[0] == 'a' && option[1] >= '0' && option[1] <= '8';
    if (option == "ip" || option == "op" || function) {
        state.input = option == "ip";
        state.output = option == "op";
    } else if (option == "dh" || option == "dl") {
        state.drive = option == "dh" ? Drive::high : Drive::low;
    } else if (option == "pu" || option == "pd") {
        state.pull = option == "pu" ? Pull::up : Pull::down;
    } else if (option == "pn" || option == "np") {
        state.pull = Pull::none;
    } else {
        return false;
    }
    return true;
}

}  // namespace

GpioSetting read_gpio(std::string_view value) {
    GpioSetting setting;
    const std::size_t equals = value.find('=');
    if (equals == std::string_view::npos) {
        setting.trouble = "it needs lines, another \"=\" and options, as in gpio=17=op,dl";
        return setting;
    }
    for (const std::string_view lines : split(value.substr(0, equals), ',')) {
        if (!add_lines(lines, setting.lines)) {
            setting.lines.clear();
            setting.trouble = in_quotes(lines) + " is neither a line nor a range of lines";
            return setting;
        }
    }
    for (const std::string_view option : split(value.substr(equals + 1), ',')) {
        if (!add_option(option, setting.state)) {
            setting.trouble =
                in_quotes(option) + " is none of ip, op, a0 to a5, dh, dl, pu, pd, pn";
        }
    }
    return setting;
}

}  // namespace nightlatch::bootfiles
