// SPDX-License-Identifier: MIT
#include "daemon/gpio/survey.hpp"

#include "daemon/gpio/naming.hpp"
#include "lines/find.hpp"

#include <cstdlib>
#include <memory>
#include <utility>

namespace nightlatch::gpio {
namespace {

/// Who holds the line; empty when that cannot be seen any more.
std::string holder_of(const Places& places, const lines::LineName& where) {
    const std::vector<lines::Chip> chips = survey(places).chips;
    const auto chip = lines::find_chip(chips, where.chip);
    if (!chip) {
        return "";
    }
    const auto offset = lines::find_line(chips[*chip], where.line);
    return offset ? chips[*chip].lines[*offset].consumer : "";
}

/// The paths of the links that lead to a device.
std::vector<std::string> aliases_of(const std::string& device, const std::vector<Link>& links) {
    const std::unique_ptr<char, decltype(&std::free)> real(realpath(device.c_str(), nullptr),
                                                           std::free);
    std::vector<std::string> aliases;
    for (const Link& link : links) {
        if (real && link.target == real.get()) {
            aliases.push_back(link.path);
        }
    }
    return aliases;
}

}  // namespace

Survey survey(const Places& places) {
    Survey survey;
    const std::vector<Link> links = links_below(places.dev);
    for (const std::string& device : chip_devices(places.dev)) {
        Result<lines::Chip> chip = look_at(places, device);
        if (!chip) {
            survey.unseen.push_back({device, chip.error()});
            continue;
        }
        chip->aliases = aliases_of(device, links);
        chip->node = node_of(places.sys, chip->name);
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
