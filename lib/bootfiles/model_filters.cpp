// SPDX-License-Identifier: MIT
#include "bootfiles/sections.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::bootfiles {
namespace {

constexpr std::string_view family = "raspberrypi,";

/// Models that no filter and no `compatible` tells apart are one row.
struct Model {
    std::string_view compatible;  ///< after "raspberrypi,"
    std::string_view sees;        ///< filters that hold, each with a blank before and after
    std::string_view may_see;     ///< filters that hold for some boards with this `compatible`
};

// clang-format off
constexpr std::array<Model, 24> models{{
    {"model-a",              " pi1 ",              " "},
    {"model-a-plus",         " pi1 ",              " "},
    {"model-b",              " pi1 ",              " "},
    {"model-b-i2c0",         " pi1 ",              " "},
    {"model-b-rev2",         " pi1 ",              " "},
    {"model-b-plus",         " pi1 ",              " "},
    // Filters [cm1], [cm3], [cm3+], [cm0] are new; an older firmware does not know them.
    {"compute-module",       " pi1 ",              " cm1 "},
    {"model-zero",           " pi0 ",              " "},
    {"model-zero-w",         " pi0 pi0w ",         " "},
    {"model-zero-2-w",       " pi0 pi0w pi02 ",    " cm0 "},
    {"model-zero-2",         " pi0 pi0w pi02 ",    " cm0 "},
    {"2-model-b",            " pi2 ",              " "},
    {"2-model-b-rev2",       " pi2 ",              " "},
    {"3-model-a-plus",       " pi3 pi3+ ",         " "},
    {"3-model-b",            " pi3 ",              " "},
    {"3-model-b-plus",       " pi3 pi3+ ",         " "},
    // Compute Module 3 and 3+ have one tree.
    {"3-compute-module",     " pi3 ",              " pi3+ cm3 cm3+ "},
    {"3-compute-module-lite"," pi3 ",              " pi3+ cm3 cm3+ "},
    {"4-model-b",            " pi4 ",              " "},
    {"400",                  " pi4 pi400 ",        " "},
    {"4-compute-module",     " pi4 cm4 ",          " "},
    {"4-compute-module-s",   " pi4 cm4s ",         " "},
    {"5-model-b",            " pi5 ",              " "},
    {"500",                  " pi5 pi500 ",        " "},
}};
// clang-format on

// The fifth compute module's trees differ by the board that carries it.
constexpr Model fifth_compute_module{"5-compute-module", " pi5 cm5 ", " "};

constexpr std::array<std::string_view, 18> filters{"pi0",
                                                   "pi0w",
                                                   "pi02",
                                                   "pi1",
                                                   "pi2",
                                                   "pi3",
                                                   "pi3+",
                                                   "pi4",
                                                   "pi400",
                                                   "pi5",
                                                   "pi500",
                                                   "cm0",
                                                   "cm1",
                                                   "cm3",
                                                   "cm3+",
                                                   "cm4",
                                                   "cm4s",
                                                   "cm5"};

const Model* model_of(std::string_view compatible) {
    if (!compatible.starts_with(family)) {
        return nullptr;
    }
    const std::string_view model = compatible.substr(family.size());
    if (model.starts_with(fifth_compute_module.compatible)) {
        return &fifth_compute_module;
    }
    const auto* const found = std::find_if(
        models.begin(), models.end(), [&](const Model& one) { return one.compatible == model; });
    return found == models.end() ? nullptr : found;
}

bool has_word(std::string_view list, std::string_view name) {
    return list.find(" " + std::string(name) + " ") != std::string_view::npos;
}

}  // namespace

std::optional<Certainty> model_filter(std::string_view name,
                                      const std::vector<std::string>& compatible) {
    if (std::find(filters.begin(), filters.end(), name) == filters.end()) {
        return std::nullopt;
    }
    const Model* model = nullptr;
    for (auto one = compatible.begin(); one != compatible.end() && model == nullptr; ++one) {
        model = model_of(*one);
    }
    if (model == nullptr || has_word(model->may_see, name)) {
        return Certainty::depends;
    }
    return has_word(model->sees, name) ? Certainty::yes : Certainty::no;
}

}  // namespace nightlatch::bootfiles
