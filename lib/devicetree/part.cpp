// SPDX-License-Identifier: MIT
#include "devicetree/part.hpp"

#include "base/ensure.hpp"

#include <utility>

namespace nightlatch::devicetree {
namespace {

/// What a tree already has cannot be too much for one that has less.
constexpr Limits no_limits{SIZE_MAX, SIZE_MAX, SIZE_MAX, SIZE_MAX};

/// Parents come before their children, so going backwards each is marked in time.
void want_those_above(const Tree& tree, std::vector<bool>& wanted) {
    for (auto id = static_cast<NodeId>(tree.size() - 1); id != root; --id) {
        if (wanted[id]) {
            wanted[tree.node(id).parent] = true;
        }
    }
    wanted[root] = true;
}

}  // namespace

Tree part_of(const Tree& tree, std::vector<bool> wanted) {
    NIGHTLATCH_ENSURE(tree.size() > 0 && wanted.size() == tree.size());
    want_those_above(tree, wanted);
    Builder builder(no_limits);
    std::vector<NodeId> open;
    const auto leave = [&] {
        NIGHTLATCH_ENSURE(builder.leave().has_value());
        open.pop_back();
    };
    for (NodeId id = root; id < tree.size(); ++id) {
        if (!wanted[id]) {
            continue;
        }
        const Node& node = tree.node(id);
        while (!open.empty() && open.back() != node.parent) {
            leave();
        }
        NIGHTLATCH_ENSURE(builder.enter(node.name).has_value());
        open.push_back(id);
        for (const Property& property : node.properties) {
            NIGHTLATCH_ENSURE(builder.property(property.name, property.value).has_value());
        }
    }
    while (!open.empty()) {
        leave();
    }
    Result<Tree> part = builder.finish();
    NIGHTLATCH_ENSURE(part.has_value());
    return std::move(*part);
}

}  // namespace nightlatch::devicetree
