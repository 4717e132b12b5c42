// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

/// A unit of which everything is known and with which nothing is wrong: a tide gauge's logger on a
/// harbour pontoon. A test changes the one thing that it is about.
namespace nightlatch::audit::test {

Facts good_unit();

/// Its configuration, as a person would write it.
std::string good_config();

/// Takes the configuration's text for the unit's, whatever comes of it.
void set_config(Facts& facts, std::string_view text);

/// The good configuration with the first `from` replaced, which must stand in it.
void edit_config(Facts& facts, std::string_view from, std::string_view to);

// Values of properties.
std::string cells(std::initializer_list<std::uint32_t> values);
std::string strings(std::initializer_list<std::string_view> values);

// The tree with one thing changed. The node that is named must be there.
void set_property(Facts& facts,
                  std::string_view path,
                  std::string_view name,
                  std::string value = {});
void remove_property(Facts& facts, std::string_view path, std::string_view name);
/// As the last child of its parent, with these properties.
void add_node(Facts& facts, std::string_view path, std::vector<devicetree::Property> properties);
void remove_node(Facts& facts, std::string_view path);

/// The unit as an image of it is seen: nothing that only a running kernel knows.
Facts as_image(Facts facts);

// Where things are.
inline constexpr std::string_view gpio = "/soc/gpio@9030000";
inline constexpr std::string_view post_halt_node = "/supply-release";
inline constexpr std::string_view lamp_node = "/leds/lid";
inline constexpr std::uint32_t gpio_phandle = 1;
inline constexpr std::uint32_t expander_phandle = 2;
inline constexpr std::uint32_t button_line = 3;
inline constexpr std::uint32_t lamp_line = 4;
inline constexpr std::uint32_t buzzer_line = 5;
inline constexpr std::uint32_t post_halt_line = 6;

/// What the kernel says of the unit's own chip.
lines::Chip& soc_chip(Facts& facts);
lines::Line& soc_line(Facts& facts, unsigned offset);

// Changing what is Known.
template <class T>
T& known(Known<T>& fact) {
    // The value was made by good_unit(), which is not const.
    return const_cast<T&>(*fact);
}

}  // namespace nightlatch::audit::test
