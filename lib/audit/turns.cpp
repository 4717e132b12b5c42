// SPDX-License-Identifier: MIT
#include "audit/turns.hpp"

#include "audit/scene.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

/// In the chain, where the legacy slot is put at priority 0 behind all who are there already
/// [linux kernel/reboot.c, do_kernel_power_off]. Whoever asks for another's priority is refused,
/// but at 0.
Turn turn_in_chain(const Standing& other, int ours) {
    if (other.stand == Stand::prepare) {
        return Turn::before;
    }
    if (other.stand != Stand::chain || other.priority < ours) {
        return Turn::after;
    }
    return other.priority == ours ? Turn::beside : Turn::before;
}

/// Before 6.7 the post-halt driver has the slot, if it was empty.
Turn turn_in_slot(const Standing& other, bool is_bound) {
    switch (other.stand) {
    case Stand::prepare:
        return Turn::before;
    case Stand::chain:
        return other.priority < default_priority ? Turn::after : Turn::before;
    case Stand::always:
        return Turn::beside;
    case Stand::if_empty:
        return is_bound ? Turn::never : Turn::beside;
    case Stand::none:
        break;
    }
    return Turn::never;
}

bool post_halt_is_bound(const Scene& scene) {
    const Known<std::vector<std::string>>& bound = scene.facts->driver.bound;
    return bound && scene.node != nullptr &&
           std::find(bound->begin(), bound->end(), scene.tree->path_of(scene.node->node)) !=
               bound->end();
}

}  // namespace

std::vector<Standing> standings(const Scene& scene, const PowerOffHandler& row) {
    const Known<KernelVersion>& kernel = scene.facts->kernel;
    if (!kernel || kernel->at_least(6, 12)) {
        return {row.in_6_12};
    }
    if (!kernel->at_least(6, 2) || row.in_6_1 == row.in_6_12) {
        return {row.in_6_1};
    }
    return {row.in_6_12, row.in_6_1};
}

Turn turn_of(const Scene& scene, const Standing& other) {
    if (other.stand == Stand::none) {
        return Turn::never;
    }
    return chain_has_post_halt(scene)
               ? turn_in_chain(other,
                               scene.node == nullptr
                                   ? default_priority
                                   : static_cast<int>(scene.node->priority.value_or(0)))
               : turn_in_slot(other, post_halt_is_bound(scene));
}

Turn turn_of_early(const Scene& scene, const Standing& other) {
    const bool slot = other.stand == Stand::always || other.stand == Stand::if_empty;
    return slot && !chain_has_post_halt(scene) && post_halt_is_bound(scene) ? Turn::never
                                                                            : turn_of(scene, other);
}

std::string_view text_of(Turn turn) noexcept {
    switch (turn) {
    case Turn::before:
        return "before the post-halt line";
    case Turn::beside:
        return "whichever of it and the post-halt line was first";
    case Turn::ours:
        return "the post-halt line itself";
    case Turn::after:
        return "after the post-halt line";
    case Turn::unknown:
        return "place unknown";
    case Turn::never:
        return "takes no part";
    }
    return "";
}

std::string text_of(const Standing& standing) {
    switch (standing.stand) {
    case Stand::none:
        return "no handler";
    case Stand::if_empty:
    case Stand::always:
        return "the one slot, called behind priority 0";
    case Stand::chain:
        return "priority " + std::to_string(standing.priority);
    case Stand::prepare:
        return "while the power-off is prepared";
    }
    return "";
}

bool chain_has_post_halt(const Scene& scene) {
    return !scene.facts->kernel || scene.facts->kernel->at_least(6, 7);
}

}  // namespace nightlatch::audit
