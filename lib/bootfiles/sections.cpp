// SPDX-License-Identifier: MIT
#include "bootfiles/sections.hpp"

#include "base/text.hpp"
#include "bootfiles/text.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::bootfiles {
namespace {

bool is_gpio(std::string_view text) {
    const std::size_t equals = text.find('=');
    return text.starts_with("gpio") && equals != std::string_view::npos &&
           all_digits(text.substr(4, equals - 4));
}

/// A comparison of a boot variable with a constant: [partition=2], [boot_arg1&0x10=0x10],
/// [boot_count>3] [raspberrypi/documentation, conditional.adoc, the expression filter].
bool is_expression(std::string_view text) {
    constexpr std::array<std::string_view, 5> variables{
        "partition", "boot_partition", "boot_count", "boot_arg1", "bootvar0"};
    const std::string_view variable = text.substr(0, text.find_first_of("=&<>"));
    if (variable.size() == text.size()) {
        return false;
    }
    return std::find(variables.begin(), variables.end(), variable) != variables.end() ||
           (variable.starts_with("cust_otp") && all_digits(variable.substr(8)));
}

}  // namespace

Applies both(const Applies& one, const Applies& other) {
    if (one.certainty == Certainty::yes || other.certainty == Certainty::no) {
        return other;
    }
    if (other.certainty == Certainty::yes || one.certainty == Certainty::no) {
        return one;
    }
    return {Certainty::depends, one.condition + " and " + other.condition};
}

Sections::Filter Sections::judged(std::string_view text) const {
    const auto of = [&](Kind kind, std::string_view why) {
        return Filter{kind, '[' + shortened(text, 60) + ']', Certainty::depends, why};
    };
    if (const auto holds = model_filter(text, compatible_)) {
        Filter filter = of(Kind::model, "");
        filter.certainty = *holds;
        filter.why = *holds == Certainty::no ? "another model" : "which model the board is";
        return filter;
    }
    if (text == "none") {
        Filter filter = of(Kind::none, "it never applies");
        filter.certainty = Certainty::no;
        return filter;
    }
    // The table has it among the model filters, so it is of their kind.
    if (text.starts_with("board-type=")) {
        return of(Kind::model, "the board's type number");
    }
    if (text.starts_with("EDID=")) {
        return of(Kind::edid, "which display is connected at boot");
    }
    if (text.starts_with("HDMI:")) {
        return of(Kind::hdmi, "the display port");
    }
    if (text.starts_with("0x")) {
        return of(Kind::serial, "the board's serial number");
    }
    // One kind for all lines: [gpio4=1] replaces [gpio5=1] [raspberrypi/firmware, issue 1569].
    if (is_gpio(text)) {
        return of(Kind::gpio, "the level at boot");
    }
    if (text == "tryboot") {
        return of(Kind::tryboot, "whether this boot is a trial");
    }
    if (is_expression(text)) {
        return of(Kind::expression, "a variable of the boot loader");
    }
    return of(Kind::other, "a section that is not known here");
}

void Sections::enter(std::string_view text) {
    ++number_;
    if (text == "all") {
        filters_.clear();
        return;
    }
    Filter filter = judged(text);
    for (Filter& earlier : filters_) {
        // [none] "prevents any settings that follow"; whether another filter ends that is not
        // documented, and people write [all] after it.
        if (earlier.kind == Kind::none && filter.kind != Kind::none) {
            earlier.certainty = Certainty::depends;
            earlier.why = "whether the section after it ends it";
        }
    }
    std::erase_if(filters_, [&](const Filter& earlier) { return earlier.kind == filter.kind; });
    filters_.push_back(std::move(filter));
}

Applies Sections::applies() const {
    Applies applies;
    for (const Filter& filter : filters_) {
        if (filter.certainty != Certainty::yes) {
            applies = both(applies,
                           {filter.certainty, filter.text + " (" + std::string(filter.why) + ")"});
        }
    }
    return applies;
}

}  // namespace nightlatch::bootfiles
