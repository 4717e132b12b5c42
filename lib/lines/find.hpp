// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "lines/chip.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

/// What a person's "chip" and "line" mean. A chip's text is first the device that it names, by the
/// kernel's name or by a path; where there is no such device, it is a label, or the path of a node
/// of the device tree. A line's text is an offset when it is all digits, else a name.
namespace nightlatch::lines {

enum class Why : unsigned char {
    no_chip,
    several_chips,  ///< that carry the label
    no_offset,      ///< the chip has fewer lines
    no_name,
    several_lines,  ///< of the chip, that carry the name
};

/// A text that does not mean one thing.
struct NotOne {
    Why why = Why::no_chip;
    std::vector<std::size_t> candidates;  ///< of several: the chips' indexes, the lines' offsets
};

/// The path of the device that a chip's text names, its empty parts left out ("/dev//gpiochip0");
/// nothing when it can only be a label.
/// `folder`: where devices are, "/dev".
std::optional<std::string> device_named(std::string_view folder, std::string_view chip);

/// True when a chip's text names the device by the kernel's number: "gpiochip0", "/dev/gpiochip0".
bool by_number(std::string_view chip) noexcept;

/// The offset that a line's text is, when it is all digits; one beyond all numbers is the greatest.
std::optional<unsigned> offset_in(std::string_view line) noexcept;

/// The index of the chip that is meant; not one: no_chip, several_chips.
Result<std::size_t, NotOne> find_chip(std::span<const Chip> chips, std::string_view text);

/// The offset of the line that is meant; not one: no_offset, no_name, several_lines.
Result<unsigned, NotOne> find_line(const Chip& chip, std::string_view text);

/// The sentence for what find_line() says of this chip and text: what is wrong and what to write
/// instead. Safe text.
std::string why_no_line(const Chip& chip, std::string_view text, const NotOne& not_one);

/// True when the chip's label, or the line's name, means it and nothing else: the best way to name
/// it, since it stays after the next boot. A label that a device may have for a name does not.
bool has_own_label(std::span<const Chip> chips, std::size_t chip);
bool has_own_name(const Chip& chip, unsigned offset);

/// True when both texts mean one chip, whatever chips there are. A label and a device's name may do
/// so too, which cannot be seen from the texts.
bool surely_same_chip(std::string_view one, std::string_view other);

}  // namespace nightlatch::lines
