// SPDX-License-Identifier: MIT
#include "daemon/gpio/survey.hpp"

#include "daemon/gpio/naming.hpp"

#include <algorithm>
#include <cstdlib>
#include <memory>
#include <utility>

namespace nightlatch::gpio {
namespace {

/// Where the kernel shows the tree's nodes [linux Documentation/ABI/testing/sysfs-firmware-ofw].
constexpr std::string_view tree_folder = "/firmware/devicetree/base";

/// The path in the device tree of a chip's node; empty when it has none.
std::string node_of(const Places& places, const std::string& chip) {
    const std::string link = places.sys + "/bus/gpio/devices/" + chip + "/of_node";
    const std::unique_ptr<char, decltype(&std::free)> real(realpath(link.c_str(), nullptr),
                                                           std::free);
    if (!real) {
        return "";
    }
    const std::string path = real.get();
    const std::size_t at = path.find(tree_folder);
    return at == std::string::npos ? "" : path.substr(at + tree_folder.size());
}

bool is_meant(const audit::Chip& chip, const std::string& wanted) {
    return chip.name == wanted || chip.label == wanted || wanted.ends_with("/" + chip.name);
}

/// Who holds the line; empty when that cannot be seen any more.
std::string holder_of(const Places& places, const config::LineName& where) {
    for (const audit::Chip& chip : survey(places).chips) {
        std::vector<std::string> names;
        for (const audit::ChipLine& line : chip.lines) {
            names.push_back(line.name);
        }
        const auto offset = pick_line({chip.name, chip.label, names.size()}, names, where.line);
        if (is_meant(chip, where.chip) && offset) {
            return chip.lines[*offset].consumer;
        }
    }
    return "";
}

}  // namespace

Survey survey(const Places& places) {
    Survey survey;
    for (const std::string& device : chip_devices(places.dev)) {
        Result<audit::Chip> chip = look_at(places, device);
        if (!chip) {
            survey.unseen.push_back({device, chip.error()});
            continue;
        }
        chip->node = node_of(places, chip->name);
        survey.chips.push_back(std::move(*chip));
    }
    return survey;
}

Known<audit::RestLevel> read_rest_level(const Places& places, const Wanted& wanted) {
    const Wanted as_input{wanted.where, wanted.bias, false, false, tool_consumer_name};
    const Result<OpenedLine> opened = request_line(places, as_input);
    if (!opened) {
        const bool ours = opened.error().trouble == Trouble::busy &&
                          holder_of(places, wanted.where) == consumer_name;
        return Known<audit::RestLevel>::missing(
            ours ? "the service holds the button line: see its status" : opened.error().text);
    }
    const Result<Level> level = read_level(*opened->line);
    if (!level) {
        return Known<audit::RestLevel>::missing(level.error().text);
    }
    return audit::RestLevel{*level == Level::active};
}

}  // namespace nightlatch::gpio
