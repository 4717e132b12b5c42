// SPDX-License-Identifier: MIT
#include "lines/suits.hpp"

#include "base/ensure.hpp"

namespace nightlatch::lines {
namespace {

std::string sentence_of(const TreeUse& use) {
    switch (use.kind) {
    case TreeUseKind::post_halt:
        return "the post-halt line of " + use.by;
    case TreeUseKind::key:
        return "a key in the tree, " + use.by;
    case TreeUseKind::led:
        return "an LED in the tree, " + use.by;
    case TreeUseKind::hog:
        return "taken at boot by " + use.by;
    case TreeUseKind::other:
        return "in the tree for " + use.by;
    }
    return "";
}

std::string holder(const Line& line) {
    // The kernel writes "?" for a holder without a name [linux drivers/gpio/gpiolib.c].
    const bool named = !line.consumer.empty() && line.consumer != "?";
    return named ? "held by " + line.consumer : "held by somebody without a name";
}

}  // namespace

LineView view_line(const Chip& chip,
                   unsigned offset,
                   const std::vector<TreeUse>& uses,
                   const Known<Pins>& pins) {
    NIGHTLATCH_ENSURE(offset < chip.lines.size());
    const Line& line = chip.lines[offset];
    LineView view;
    view.free = !line.used;
    view.pin = pin_use(pins, chip, offset);
    if (line.used) {
        view.why.push_back(holder(line));
    }
    for (const TreeUse& use : uses) {
        if (!chip.node.empty() && use.controller == chip.node && use.offset == offset) {
            view.why.push_back(sentence_of(use));
        }
    }
    if (!line.used && view.pin.now == PinNow::other) {
        view.why.push_back("its pin is " + view.pin.what);
    }
    if (!line.used && line.output) {
        view.why.emplace_back("an output now");
    }
    view.suits = view.why.empty() ? Suits::yes : Suits::no;
    if (chip.sleeps) {
        view.why.emplace_back("behind a slow bus: its edges come late");
        view.suits = view.suits == Suits::yes ? Suits::with_care : view.suits;
    }
    return view;
}

}  // namespace nightlatch::lines
