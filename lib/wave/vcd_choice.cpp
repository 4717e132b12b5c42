// SPDX-License-Identifier: MIT
#include "wave/vcd_choice.hpp"

#include <algorithm>
#include <array>
#include <functional>

namespace nightlatch::wave {
namespace {

using Found = std::vector<const VcdSignal*>;
using Test = std::function<bool(const VcdSignal&)>;

Found signals_that(const VcdHeader& header, const Test& test) {
    Found found;
    for (const VcdSignal& signal : header.signals) {
        if (test(signal)) {
            found.push_back(&signal);
        }
    }
    return found;
}

bool ends_in(std::string_view full, std::string_view wanted) {
    return full.size() > wanted.size() && full.ends_with(wanted) &&
           full[full.size() - wanted.size() - 1] == '.';
}

std::string_view bare(const VcdSignal& signal) {
    return std::string_view(signal.name).substr(0, signal.bare_size);
}

bool is_named(const VcdSignal& signal, std::string_view wanted) {
    return signal.name == wanted || bare(signal) == wanted;
}

bool is_named_in_its_scope(const VcdSignal& signal, std::string_view wanted) {
    return ends_in(signal.name, wanted) || ends_in(bare(signal), wanted);
}

/// A whole name goes before the end of another one.
Found named(const VcdHeader& header, std::string_view wanted, const Test& also) {
    Found found = signals_that(
        header, [&](const VcdSignal& signal) { return also(signal) && is_named(signal, wanted); });
    if (found.empty()) {
        found = signals_that(header, [&](const VcdSignal& signal) {
            return also(signal) && is_named_in_its_scope(signal, wanted);
        });
    }
    return found;
}

std::vector<std::string_view> names_of(const Found& signals) {
    std::vector<std::string_view> names;
    names.reserve(signals.size());
    for (const VcdSignal* signal : signals) {
        names.emplace_back(signal->name);
    }
    return names;
}

bool all_the_same(const Found& signals) {
    return std::all_of(signals.begin(), signals.end(), [&](const VcdSignal* signal) {
        return signal->id == signals.front()->id;
    });
}

/// "bus [0]" as "bus[0]", the way names are kept.
std::string as_kept(std::string_view wanted) {
    std::string name(wanted);
    if (const std::size_t bit = name.find(" ["); bit != std::string::npos) {
        name.erase(bit, 1);
    }
    return name;
}

void tell_unknown(const VcdHeader& header, std::string_view wanted, Problems& problems) {
    const Found one_bit = signals_that(header, is_one_bit);
    if (one_bit.empty()) {
        problems.error(header.end, "the file has no one-bit signal");
        return;
    }
    // What people type is the last part of a name as often as all of it.
    std::vector<std::string_view> candidates = names_of(one_bit);
    const std::vector<std::string_view> full = candidates;
    candidates.resize(std::min<std::size_t>(candidates.size(), 500));
    const std::size_t looked_at = candidates.size();
    for (std::size_t i = 0; i < looked_at; ++i) {
        candidates.push_back(full[i].substr(full[i].rfind('.') + 1));
    }
    problems.error(header.end,
                   "no signal is named " + in_quotes(wanted) + nearest_hint(wanted, candidates) +
                       "; of one bit there " + (full.size() == 1 ? "is " : "are ") +
                       names_listed(full));
}

}  // namespace

bool is_one_bit(const VcdSignal& signal) noexcept {
    constexpr std::array<std::string_view, 5> no_level{
        "event", "real", "real_parameter", "realtime", "string"};
    return signal.size == 1 &&
           std::find(no_level.begin(), no_level.end(), signal.type) == no_level.end();
}

const VcdSignal* choose_vcd_signal(const VcdHeader& header,
                                   std::string_view wanted,
                                   Problems& problems) {
    const std::string name = as_kept(wanted);
    const Found found =
        name.empty() ? signals_that(header, is_one_bit) : named(header, name, is_one_bit);
    if (found.empty()) {
        const Found others = named(header, name, [](const VcdSignal&) { return true; });
        if (name.empty() || others.empty()) {
            tell_unknown(header, wanted, problems);
        } else {
            const VcdSignal& other = *others.front();
            problems.error(other.at,
                           in_quotes(other.name) + " is a " + in_quotes(other.type) + " of " +
                               std::to_string(other.size) +
                               " bits; a button's level is one bit of a wire or register");
        }
        return nullptr;
    }
    if (!all_the_same(found)) {
        const std::vector<std::string_view> names = names_of(found);
        problems.error(header.end,
                       name.empty()
                           ? "the file has several one-bit signals: " + signal_choice(names)
                           : "several signals are named " + in_quotes(wanted) +
                                 "; give the full name: " + names_listed(names));
        return nullptr;
    }
    return found.front();
}

}  // namespace nightlatch::wave
