// SPDX-License-Identifier: MIT
#include "circuit/library.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::circuit {
namespace {

constexpr std::string_view practice = "common practice, no source";

constexpr std::string_view recalled = "from memory of the part's data sheets";

using On = OnResistance;
using At = DropPoint;

// clang-format off
constexpr std::array bss138_on{On{4.5, 6.0}, On{10.0, 3.5}};
constexpr std::array n2n7000_on{On{4.5, 5.3}, On{10.0, 5.0}};
constexpr std::array n2n7002_on{On{5.0, 7.5}, On{10.0, 7.5}};
constexpr std::array ao3401a_on{On{2.5, 0.085}, On{4.5, 0.060}, On{10.0, 0.050}};
constexpr std::array ao3407a_on{On{4.5, 0.078}, On{10.0, 0.048}};
constexpr std::array ao3415_on{On{1.8, 0.065}, On{2.5, 0.053}, On{4.5, 0.041}};
constexpr std::array irlml6402_on{On{2.5, 0.135}, On{4.5, 0.065}};
constexpr std::array dmg2305ux_on{On{1.8, 0.200}, On{2.5, 0.100}, On{4.5, 0.052}};
constexpr std::array fdn340p_on{On{2.5, 0.110}, On{4.5, 0.070}};
constexpr std::array ntr4101p_on{On{1.8, 0.210}, On{2.5, 0.120}, On{4.5, 0.085}};
constexpr std::array bss84_on{On{5.0, 10.0}, On{10.0, 10.0}};
constexpr std::array si2301bds_on{On{2.5, 0.150}, On{4.5, 0.100}};
constexpr std::array si2301cds_on{On{2.5, 0.142}, On{4.5, 0.112}};
constexpr std::array irf9540_on{On{10.0, 0.20}};
constexpr std::array irf4905_on{On{10.0, 0.02}};
// clang-format on
/// Saturated: VCE(sat) over its current.
constexpr std::array small_npn_saturated{On{0.7, 25.0}};

constexpr std::string_view bss138 = "BSS138 rev C(W), Fairchild";
constexpr std::string_view n2n7000 = "DSFP-2N7000, Supertex; 70226 rev F, Vishay";
constexpr std::string_view n2n7002 = "DSFP-2N7002, Supertex; 70226 rev F, Vishay";
constexpr std::string_view ao3401a = "AO3401A rev 3, AOS";
constexpr std::string_view ao3407a = "AO3407A rev 5, AOS";
constexpr std::string_view ao3415 = "AO3415 rev 7, AOS";
constexpr std::string_view irlml6402 = "IRLML6402PbF, 2014, International Rectifier";
constexpr std::string_view dmg2305ux = "DS36196 rev 4, Diodes";
constexpr std::string_view fdn340p = "FDN340P, onsemi";
constexpr std::string_view ntr4101p = "NTR4101P, onsemi";
constexpr std::string_view bss84 = "BSS84, Philips 1997; BSS84, Taitron";
constexpr std::string_view si2301bds = "72066 rev F, Vishay";
constexpr std::string_view si2301cds = "68741 rev C, Vishay";
constexpr std::string_view irf9540 = "IRF9540 data sheet, Vishay";
constexpr std::string_view irf4905 = "PD-94816, International Rectifier";
constexpr std::string_view bc847 = "BC847 series rev 8, NXP; BC848 series rev 7, NXP";
constexpr std::string_view n2n3904 = "MMBT3904, onsemi";
constexpr std::string_view low_current = "at 2 mA, halved for small currents (common practice)";

/// A TO-220 standing free.
constexpr Published<double> to220{62.0, practice};
constexpr Published<double> not_noted{0.0, ""};
constexpr Published<Spread> no_gain{{}, ""};

using Kind = LibraryTransistor::Kind;

// Threshold and test current; gain; RDS(on); gate, drain and current limits; thermal resistance.
// Where no typical threshold is printed, the middle is taken.
// clang-format off
constexpr std::array transistors{
    LibraryTransistor{"BSS138", Kind::n_channel, {{0.8, 1.3, 1.5}, bss138}, {1e-3, bss138}, no_gain,
                      bss138_on, bss138, {20.0, bss138}, {50.0, bss138}, {0.22, bss138}, {350.0, bss138}},
    LibraryTransistor{"2N7000", Kind::n_channel, {{0.8, 2.1, 3.0}, n2n7000}, {1e-3, n2n7000}, no_gain,
                      n2n7000_on, n2n7000, {20.0, n2n7000}, {60.0, n2n7000}, {0.2, n2n7000}, {312.5, n2n7000}},
    LibraryTransistor{"2N7002", Kind::n_channel, {{1.0, 2.1, 2.5}, n2n7002}, {250e-6, n2n7002}, no_gain,
                      n2n7002_on, n2n7002, {20.0, n2n7002}, {60.0, n2n7002}, {0.115, n2n7002}, {625.0, n2n7002}},
    LibraryTransistor{"AO3401A", Kind::p_channel, {{0.5, 0.9, 1.3}, ao3401a}, {250e-6, ao3401a}, no_gain,
                      ao3401a_on, ao3401a, {12.0, ao3401a}, {30.0, ao3401a}, {4.0, ao3401a}, {125.0, ao3401a}},
    LibraryTransistor{"AO3407A", Kind::p_channel, {{1.4, 1.9, 2.4}, ao3407a}, {250e-6, ao3407a}, no_gain,
                      ao3407a_on, ao3407a, {20.0, ao3407a}, {30.0, ao3407a}, {4.3, ao3407a}, {125.0, ao3407a}},
    LibraryTransistor{"AO3415", Kind::p_channel, {{0.3, 0.57, 0.9}, ao3415}, {250e-6, ao3415}, no_gain,
                      ao3415_on, ao3415, {8.0, ao3415}, {20.0, ao3415}, {4.0, ao3415}, {100.0, ao3415}},
    LibraryTransistor{"IRLML6402", Kind::p_channel, {{0.4, 0.55, 1.2}, irlml6402}, {250e-6, irlml6402}, no_gain,
                      irlml6402_on, irlml6402, {12.0, irlml6402}, {20.0, irlml6402}, {3.7, irlml6402}, {100.0, irlml6402}},
    LibraryTransistor{"DMG2305UX", Kind::p_channel, {{0.5, 0.7, 0.9}, dmg2305ux}, {250e-6, dmg2305ux}, no_gain,
                      dmg2305ux_on, dmg2305ux, {8.0, dmg2305ux}, {20.0, dmg2305ux}, {4.2, dmg2305ux}, {90.0, dmg2305ux}},
    LibraryTransistor{"FDN340P", Kind::p_channel, {{0.4, 0.8, 1.5}, fdn340p}, {250e-6, fdn340p}, no_gain,
                      fdn340p_on, fdn340p, {8.0, recalled}, {20.0, fdn340p}, {2.0, fdn340p}, {250.0, recalled}},
    LibraryTransistor{"NTR4101P", Kind::p_channel, {{0.4, 0.72, 1.2}, ntr4101p}, {250e-6, ntr4101p}, no_gain,
                      ntr4101p_on, ntr4101p, {8.0, ntr4101p}, {20.0, ntr4101p}, {1.8, ntr4101p}, {300.0, ntr4101p}},
    LibraryTransistor{"BSS84", Kind::p_channel, {{0.8, 1.4, 2.0}, bss84}, {1e-3, bss84}, no_gain,
                      bss84_on, bss84, {20.0, bss84}, {50.0, bss84}, {0.13, bss84}, {556.0, bss84}},
    LibraryTransistor{"Si2301BDS", Kind::p_channel, {{0.45, 0.7, 0.95}, si2301bds}, {250e-6, si2301bds}, no_gain,
                      si2301bds_on, si2301bds, {8.0, si2301bds}, {20.0, si2301bds}, {2.2, si2301bds}, {175.0, si2301bds}},
    LibraryTransistor{"Si2301CDS", Kind::p_channel, {{0.4, 0.7, 1.0}, si2301cds}, {250e-6, si2301cds}, no_gain,
                      si2301cds_on, si2301cds, {8.0, si2301cds}, {20.0, si2301cds}, {2.3, si2301cds}, {175.0, si2301cds}},
    LibraryTransistor{"IRF9540", Kind::p_channel, {{2.0, 3.0, 4.0}, irf9540}, {250e-6, irf9540}, no_gain,
                      irf9540_on, irf9540, {20.0, irf9540}, {100.0, irf9540}, {19.0, irf9540}, {62.0, irf9540}},
    LibraryTransistor{"IRF4905", Kind::p_channel, {{2.0, 3.0, 4.0}, irf4905}, {250e-6, recalled}, no_gain,
                      irf4905_on, irf4905, {20.0, practice}, {55.0, recalled}, {74.0, irf4905}, to220},
    LibraryTransistor{"BC847B", Kind::npn, {{0.58, 0.66, 0.70}, bc847}, {2e-3, bc847}, {{100.0, 150.0, 450.0}, low_current},
                      small_npn_saturated, bc847, not_noted, {45.0, bc847}, {0.1, bc847}, not_noted},
    LibraryTransistor{"BC847C", Kind::npn, {{0.58, 0.66, 0.70}, bc847}, {2e-3, bc847}, {{210.0, 270.0, 800.0}, low_current},
                      small_npn_saturated, bc847, not_noted, {45.0, bc847}, {0.1, bc847}, not_noted},
    LibraryTransistor{"MMBT3904", Kind::npn, {{0.60, 0.67, 0.75}, recalled}, {2e-3, recalled}, {{40.0, 100.0, 300.0}, n2n3904},
                      small_npn_saturated, n2n3904, not_noted, {40.0, n2n3904}, {0.2, n2n3904}, not_noted},
};
// clang-format on

// clang-format off
constexpr std::array bat54_drops{At{1e-4, 0.24}, At{1e-3, 0.32}, At{1e-2, 0.40}, At{0.03, 0.50}, At{0.1, 1.0}};
constexpr std::array bat85_drops{At{1e-4, 0.24}, At{1e-3, 0.32}, At{1e-2, 0.40}, At{0.03, 0.50}, At{0.1, 0.80}};
constexpr std::array bat43_drops{At{2e-3, 0.33}, At{15e-3, 0.45}, At{0.2, 1.0}};
constexpr std::array bat46_drops{At{1e-4, 0.25}, At{1e-2, 0.45}, At{0.25, 1.0}};
constexpr std::array bas70_drops{At{1e-3, 0.41}, At{1e-2, 0.75}, At{15e-3, 1.0}};
constexpr std::array n4148_drops{At{5e-3, 0.72}, At{0.1, 1.0}};
constexpr std::array n5817_drops{At{1.0, 0.45}, At{3.0, 0.75}};
constexpr std::array n5818_drops{At{1.0, 0.55}, At{3.0, 0.875}};
constexpr std::array n5819_drops{At{1.0, 0.60}, At{3.0, 0.90}};
// clang-format on

constexpr std::string_view bat54 = "BAT54 data sheets of Diotech (leakage), Rectron and others";
constexpr std::string_view bat85 = "BAT85, Philips 1996; BAS85-M, Vishay";
constexpr std::string_view bat43 = "BAT42/BAT43, ST 2001";
constexpr std::string_view bat46 = "BAT46 rev 4, ST";
constexpr std::string_view bas70 = "BAS70, Diodes DS30190";
constexpr std::string_view n4148 = "1N4148/1N4448, Diotech; 1N4148, Panjit";
constexpr std::string_view n58xx = "1N5817/D, onsemi; DS23001, Diodes";
/// The largest is published; the rest is common practice.
constexpr Published<Spread> power_schottky{{10e-6, 100e-6, 1e-3}, n58xx};

constexpr std::array diodes{
    LibraryDiode{"BAT54", bat54_drops, bat54, {{0.1e-6, 0.5e-6, 2e-6}, bat54}},
    LibraryDiode{"BAT85", bat85_drops, bat85, {{0.05e-6, 0.2e-6, 2e-6}, bat85}},
    LibraryDiode{"BAT43", bat43_drops, bat43, {{0.05e-6, 0.1e-6, 0.5e-6}, bat43}},
    LibraryDiode{"BAT46", bat46_drops, bat46, {{0.05e-6, 0.2e-6, 0.8e-6}, bat46}},
    LibraryDiode{"BAS70", bas70_drops, bas70, {{5e-9, 20e-9, 100e-9}, bas70}},
    LibraryDiode{"1N4148", n4148_drops, n4148, {{1e-9, 5e-9, 25e-9}, n4148}},
    LibraryDiode{"1N5817", n5817_drops, n58xx, power_schottky},
    LibraryDiode{"1N5818", n5818_drops, n58xx, power_schottky},
    LibraryDiode{"1N5819", n5819_drops, n58xx, power_schottky},
};

constexpr std::string_view eia198 = "EIA-198 class code [TI SLAA701; Holy Stone catalogue]";

// clang-format off
constexpr std::array classes{
    CapacitorClass{"X7R", {0.10, "letter K [Holy Stone catalogue]"}, {0.15, eia198}, {0.50, practice}, {1.0 / 500.0, practice}, 0.0},
    CapacitorClass{"X5R", {0.20, "letter M [Holy Stone catalogue]"}, {0.15, eia198}, {0.70, practice}, {1.0 / 500.0, practice}, 0.0},
    CapacitorClass{"electrolytic", {0.20, practice}, {0.20, practice}, {0.0, practice}, {0.01, practice}, 3e-6},
    CapacitorClass{"film", {0.10, practice}, {0.05, practice}, {0.0, practice}, {1.0 / 10e3, practice}, 0.0},
};

// clang-format on

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

std::string_view spelling_of(std::string_view name) noexcept {
    const auto* const transistor = find_part(library_transistors(), name);
    const auto* const diode = find_part(library_diodes(), name);
    const auto* const kind = find_part(capacitor_classes(), name);
    return transistor != nullptr ? transistor->name
           : diode != nullptr    ? diode->name
           : kind != nullptr     ? kind->name
                                 : name;
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
