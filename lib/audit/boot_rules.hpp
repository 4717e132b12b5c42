// SPDX-License-Identifier: MIT
#pragma once

#include "audit/lines_named.hpp"
#include "audit/rule.hpp"
#include "audit/say.hpp"

#include <optional>

/// What the rules of the group `boot` share: how a boot loader's text numbers lines and names
/// overlays [raspberrypi/linux arch/arm/boot/dts/overlays/README]. The rules stand in
/// boot_rules.cpp.
namespace nightlatch::audit {

Judgement judge_boot_differs(const Scene& scene);
Judgement judge_boot_key_overlay(const Scene& scene);
Judgement judge_boot_early_line(const Scene& scene);
Judgement judge_boot_asks(const Scene& scene);
Judgement judge_boot_line(const Scene& scene);
Judgement judge_boot_overlay_file(const Scene& scene);
Judgement judge_boot_repeated(const Scene& scene);
Judgement judge_boot_lasts(const Scene& scene);

/// What the post-halt overlay makes of its parameters.
struct OverlayNode {
    unsigned offset = 26;
    bool active_low = false;
    bool input = false;
    unsigned active_ms = 100;
    unsigned inactive_ms = 100;
    unsigned timeout_ms = 3000;
};

/// Does it make a post-halt node?
bool is_post_halt_overlay(const bootfiles::OverlayUse& use);

/// A parameter's number: decimal, 0x…, or one of the words for yes and no; a bare name means yes.
std::optional<unsigned> parameter_number(const bootfiles::Parameter& parameter);

/// Which line config.txt means by a number: it counts on the SoC's own controller.
/// Nothing: the line is on another controller, which config.txt cannot mean.
Known<std::optional<unsigned>> config_number(const Scene& scene, const Known<PlacedLine>& line);

/// Is it such a controller?
bool is_counted_in_config(const Scene& scene, devicetree::NodeId controller);

/// Every overlay that the text loads, or loads on a condition.
struct LoadedOverlay {
    const bootfiles::Intent* intent = nullptr;
    const bootfiles::OverlayUse* use = nullptr;
};

std::vector<LoadedOverlay> all_overlays(const Scene& scene);

/// Is it the overlay whose node is made by parameters?
bool is_parametric(const bootfiles::Intent& intent, const bootfiles::OverlayUse& use);

/// Such overlays all set one node, and the last one that surely holds takes the place of those
/// before it.
bool is_replaced(const LoadedOverlay& loaded);

/// The last one that surely holds; null pointers when there is none.
LoadedOverlay last_of_node(const bootfiles::Intent& intent);

/// The node as the text leaves it, after this overlay and those before it: each states line and
/// polarity, and leaves of the rest what it does not state [raspberrypi/linux
/// arch/arm/boot/dts/overlays/gpio-poweroff-overlay.dts].
Result<OverlayNode, std::string> node_in_force(const LoadedOverlay& loaded);

/// Of an overlay that was looked into and makes a post-halt node: the path of its controller where
/// that is not the one of [post_halt], "" where it is.
Known<std::string> other_controller(const Scene& scene, const bootfiles::OverlayUse& use);

/// Where a line of the text is to be added so that it stays.
std::string lasting_file(const bootfiles::Intent& intent);

/// A line's number as config.txt counts; nothing for one that it cannot mean.
using ConfigNumber = Known<std::optional<unsigned>>;

/// A line that the service opens.
struct OurLine {
    OpenedLine line;
    ConfigNumber number;
};

/// The lines that matter.
struct OurNumbers {
    std::vector<OurLine> opened;
    ConfigNumber post_halt;
};

/// Of the post-halt line: what [post_halt] says, else what the tree's node has.
OurNumbers our_numbers(const Scene& scene);

/// The one with that number that the service opens; null for none.
const OpenedLine* opened_line(const OurNumbers& ours, unsigned line);

/// Of those that the service opens, what is missing to know their numbers; "" when all are known.
std::string what_is_missing(const std::vector<OurLine>& opened);

bool is_line(const ConfigNumber& ours, unsigned line);

/// An error; only a warning where it depends on something.
Finding& add_certain(Findings& findings,
                     bootfiles::Certainty certainty,
                     std::string place,
                     std::string sentence);

/// ", if [gpio4=1] (the level at boot),"; "" without a condition.
std::string on_condition(const std::string& condition);

/// "config.txt:12".
std::string text_of(const bootfiles::FileLine& place);

/// "dtoverlay=gpio-poweroff,gpiopin=6".
std::string text_of(const bootfiles::OverlayUse& use);

/// Why there is no boot loader's text to judge, when there is none.
std::optional<Judgement> no_boot_text(const Scene& scene);

}  // namespace nightlatch::audit
