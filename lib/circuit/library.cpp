// SPDX-License-Identifier: MIT
#include "circuit/library.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::circuit {
namespace {

constexpr std::string_view practice = "common practice, no source";

constexpr std::string_view recalled = "from memory of the part's data sheets";

constexpr std::array bss138_on{OnResistance{4.5, 6.0}, OnResistance{10.0, 3.5}};
constexpr std::array n2n7000_on{OnResistance{10.0, 5.0}};
constexpr std::array n2n7002_on{OnResistance{10.0, 7.5}};
constexpr std::array ao3401a_on{
    OnResistance{2.5, 0.085}, OnResistance{4.5, 0.060}, OnResistance{10.0, 0.050}};
constexpr std::array si2301bds_on{OnResistance{2.5, 0.150}, OnResistance{4.5, 0.100}};
constexpr std::array irf9540_on{OnResistance{10.0, 0.20}};
constexpr std::array irf4905_on{OnResistance{10.0, 0.02}};

constexpr std::string_view bss138 = "BSS138 data sheet, onsemi/Fairchild";
constexpr std::string_view n2n7000 = "NDS7002A/D, onsemi; 70226, Vishay";
constexpr std::string_view ao3401a = "AO3401A rev 3, AOS";
constexpr std::string_view si2301bds = "72066, Vishay";
constexpr std::string_view irf9540 = "IRF9540 data sheet, Vishay";
constexpr std::string_view irf4905 = "PD-94816, International Rectifier";

/// A SOT-23 on a small board.
constexpr Published<double> sot23{125.0, practice};
/// A TO-220 standing free.
constexpr Published<double> to220{62.0, practice};
constexpr Published<double> not_noted{0.0, ""};

constexpr std::array transistors{
    LibraryTransistor{"BSS138",
                      false,
                      {{0.8, 1.3, 1.5}, bss138},
                      bss138_on,
                      bss138,
                      {20.0, practice},
                      {50.0, recalled},
                      {0.22, bss138},
                      not_noted},
    LibraryTransistor{"2N7000",
                      false,
                      {{0.8, 2.1, 3.0}, n2n7000},
                      n2n7000_on,
                      n2n7000,
                      {20.0, practice},
                      {60.0, recalled},
                      not_noted,
                      not_noted},
    LibraryTransistor{"2N7002",
                      false,
                      {{1.0, 1.75, 2.5}, "70226, Vishay (the middle is taken as typical)"},
                      n2n7002_on,
                      "70226, Vishay",
                      {20.0, practice},
                      {60.0, recalled},
                      not_noted,
                      not_noted},
    LibraryTransistor{"AO3401A",
                      true,
                      {{0.5, 0.9, 1.3}, ao3401a},
                      ao3401a_on,
                      ao3401a,
                      {12.0, ao3401a},
                      {30.0, recalled},
                      {4.0, ao3401a},
                      sot23},
    LibraryTransistor{"Si2301BDS",
                      true,
                      {{0.45, 0.7, 0.95}, "72066, Vishay (the middle is taken as typical)"},
                      si2301bds_on,
                      si2301bds,
                      {8.0, "70627, Vishay (of the Si2301DS)"},
                      {20.0, recalled},
                      not_noted,
                      sot23},
    LibraryTransistor{"IRF9540",
                      true,
                      {{2.0, 3.0, 4.0}, "IRF9540 data sheet (the middle is taken as typical)"},
                      irf9540_on,
                      irf9540,
                      {20.0, practice},
                      {100.0, recalled},
                      not_noted,
                      to220},
    LibraryTransistor{"IRF4905",
                      true,
                      {{2.0, 3.0, 4.0}, "PD-94816 (the middle is taken as typical)"},
                      irf4905_on,
                      irf4905,
                      {20.0, practice},
                      {55.0, recalled},
                      {74.0, irf4905},
                      to220},
};

constexpr std::array bat54_drops{DropPoint{1e-4, 0.24},
                                 DropPoint{1e-3, 0.32},
                                 DropPoint{1e-2, 0.40},
                                 DropPoint{0.03, 0.50},
                                 DropPoint{0.1, 0.80}};
constexpr std::array n5817_drops{DropPoint{1.0, 0.45}, DropPoint{3.0, 0.75}};
constexpr std::array n5818_drops{DropPoint{1.0, 0.55}, DropPoint{3.0, 0.875}};
constexpr std::array n5819_drops{DropPoint{1.0, 0.60}, DropPoint{3.0, 0.90}};

constexpr std::string_view n58xx = "1N5817/D, onsemi; DS23001, Diodes";
constexpr Published<Spread> power_schottky{{10e-6, 100e-6, 1e-3}, practice};

constexpr std::array diodes{
    LibraryDiode{"BAT54",
                 bat54_drops,
                 "BAT54 data sheets of several makers",
                 {{0.1e-6, 0.5e-6, 2e-6}, "BAT54 data sheets: 2 uA at 25 V; below, practice"}},
    LibraryDiode{"1N5817", n5817_drops, n58xx, power_schottky},
    LibraryDiode{"1N5818", n5818_drops, n58xx, power_schottky},
    LibraryDiode{"1N5819", n5819_drops, n58xx, power_schottky},
};

constexpr std::string_view eia198 = "EIA-198 class code [TI SLAA701; Holy Stone catalogue]";

constexpr std::array classes{
    CapacitorClass{"X7R",
                   {0.10, "letter K [Holy Stone catalogue]"},
                   {0.15, eia198},
                   {0.50, practice},
                   {1.0 / 500.0, practice},
                   0.0},
    CapacitorClass{"X5R",
                   {0.20, "letter M [Holy Stone catalogue]"},
                   {0.15, eia198},
                   {0.70, practice},
                   {1.0 / 500.0, practice},
                   0.0},
    CapacitorClass{"electrolytic",
                   {0.20, practice},
                   {0.20, practice},
                   {0.0, practice},
                   {0.01, practice},
                   3e-6},
    CapacitorClass{
        "film", {0.10, practice}, {0.05, practice}, {0.0, practice}, {1.0 / 10e3, practice}, 0.0},
};

template <class Parts>
auto find_in(const Parts& parts, std::string_view name) {
    const auto found = std::find_if(
        parts.begin(), parts.end(), [&](const auto& part) { return part.name == name; });
    return found == parts.end() ? nullptr : &*found;
}

}  // namespace

std::span<const LibraryTransistor> library_transistors() noexcept {
    return transistors;
}

std::span<const LibraryDiode> library_diodes() noexcept {
    return diodes;
}

std::span<const CapacitorClass> capacitor_classes() noexcept {
    return classes;
}

const LibraryTransistor* find_transistor(std::string_view name) noexcept {
    return find_in(transistors, name);
}

const LibraryDiode* find_diode(std::string_view name) noexcept {
    return find_in(diodes, name);
}

const CapacitorClass* find_capacitor_class(std::string_view name) noexcept {
    return find_in(classes, name);
}

Spread effective_capacitance(const CapacitorClass& kind, Spread printed, bool stated) {
    const double tolerance = stated ? 0.0 : kind.tolerance.value;
    const double low = (1.0 - tolerance) * (1.0 - kind.temperature.value);
    const double high = (1.0 + tolerance) * (1.0 + kind.temperature.value);
    const double loss = kind.bias_loss.value;
    return {printed.least * low * (1.0 - loss),
            printed.typical * (1.0 - loss / 2.0),
            printed.most * high};
}

Spread capacitor_leakage(const CapacitorClass& kind, double farads, double volts) {
    const double most = std::max(kind.leakage.value * farads * volts, kind.least_leakage);
    return {most / 100.0, most / 10.0, most};
}

}  // namespace nightlatch::circuit
