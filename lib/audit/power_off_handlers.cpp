// SPDX-License-Identifier: MIT
#include "audit/power_off_handlers.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

constexpr Standing none{Stand::none};
constexpr Standing if_empty{Stand::if_empty};
constexpr Standing always{Stand::always};
constexpr Standing in_chain{Stand::chain, default_priority};
constexpr Standing in_chain_low{Stand::chain, low_priority};

constexpr std::string_view chip = "the power chip";
constexpr std::string_view controller = "system-power-controller";
constexpr std::string_view shutdown = "the shutdown controller";
constexpr std::string_view rtc = "the clock";
constexpr std::string_view driver = "the node";
constexpr std::string_view axp = "drivers/mfd/axp20x.c";
constexpr std::string_view rk8 = "drivers/mfd/rk8xx-core.c (6.1: rk808.c)";
constexpr std::string_view rk8_asks = "rockchip,system-power-controller system-power-controller";
constexpr Standing rk8_now{Stand::prepare, high_priority};
constexpr std::string_view psci = "drivers/firmware/psci/psci.c";
constexpr std::string_view firmware = "the firmware (PSCI)";
constexpr std::string_view palmas = "drivers/mfd/palmas.c";
constexpr std::string_view ti_asks = "ti,system-power-controller";
constexpr std::string_view rn5 = "drivers/mfd/rn5t618.c";
constexpr std::string_view max776 = "drivers/mfd/max77620.c";
constexpr std::string_view act88 = "drivers/regulator/act8865-regulator.c";
constexpr std::string_view atc260 = "drivers/power/reset/atc260x-poweroff.c";
constexpr std::string_view at91 = "drivers/power/reset/at91-poweroff.c";
constexpr std::string_view sama5 = "drivers/power/reset/at91-sama5d2_shdwc.c";
constexpr std::string_view twl_power = "drivers/mfd/twl4030-power.c";
constexpr std::string_view twl_asks =
    "ti,system-power-controller ti,use_poweroff ^system-power-controller";
constexpr std::string_view twl = "drivers/mfd/twl-core.c";
constexpr std::string_view bcm_pm = "drivers/watchdog/bcm2835_wdt.c";
constexpr std::string_view reset_to_halt = "the processor's reset into its halt";
constexpr std::string_view linkstation = "drivers/power/reset/linkstation-poweroff.c";
constexpr std::string_view omap_rtc = "drivers/rtc/rtc-omap.c";
constexpr std::string_view qnap = "drivers/power/reset/qnap-poweroff.c";
constexpr std::string_view other_processor = "the second processor";

// A chip that only gets the rails ready (fsl,pfuze100) or only reboots (nvidia,tegra30-pmc: its
// handler at 224 hands on) is no way off, so it has no row.
constexpr std::array rows{
    PowerOffHandler{"x-powers,axp*", chip, "", if_empty, in_chain, axp},
    PowerOffHandler{"rockchip,rk8*", chip, rk8_asks, always, rk8_now, rk8},
    PowerOffHandler{"arm,psci-0.2", firmware, "", always, always, psci, Origin::kernel},
    PowerOffHandler{"arm,psci-1.0", firmware, "", always, always, psci, Origin::kernel},
    PowerOffHandler{
        "syscon-poweroff", driver, "", if_empty, in_chain, "drivers/power/reset/syscon-poweroff.c"},
    PowerOffHandler{"regulator-poweroff",
                    driver,
                    "",
                    always,
                    in_chain_low,
                    "drivers/power/reset/regulator-poweroff.c"},
    PowerOffHandler{"restart-poweroff",
                    driver,
                    "",
                    always,
                    in_chain_low,
                    "drivers/power/reset/restart-poweroff.c"},
    PowerOffHandler{"qcom,pshold",
                    "the processor's supply hold",
                    "",
                    always,
                    in_chain,
                    "drivers/power/reset/msm-poweroff.c"},
    PowerOffHandler{"brcm,bcm2835-pm", reset_to_halt, controller, if_empty, if_empty, bcm_pm},
    PowerOffHandler{"brcm,bcm2835-pm-wdt", reset_to_halt, controller, if_empty, if_empty, bcm_pm},
    PowerOffHandler{"brcm,bcm2711-pm", reset_to_halt, controller, if_empty, if_empty, bcm_pm},
    PowerOffHandler{"ti,am3352-rtc", rtc, controller, if_empty, if_empty, omap_rtc},
    PowerOffHandler{"ti,tps65219", chip, controller, none, in_chain, "drivers/mfd/tps65219.c"},
    PowerOffHandler{"ti,palmas", chip, ti_asks, if_empty, if_empty, palmas},
    PowerOffHandler{"ti,tps659038", chip, ti_asks, if_empty, if_empty, palmas},
    PowerOffHandler{"ti,tps65917", chip, ti_asks, if_empty, if_empty, palmas},
    PowerOffHandler{"ti,tps65910", chip, ti_asks, if_empty, if_empty, "drivers/mfd/tps65910.c"},
    PowerOffHandler{"ti,tps65911", chip, ti_asks, if_empty, if_empty, "drivers/mfd/tps65910.c"},
    PowerOffHandler{"ti,tps6586x", chip, ti_asks, if_empty, in_chain, "drivers/mfd/tps6586x.c"},
    PowerOffHandler{"ti,twl4030-power", chip, twl_asks, if_empty, if_empty, twl_power},
    PowerOffHandler{"ti,twl4030-power-reset", chip, twl_asks, if_empty, if_empty, twl_power},
    PowerOffHandler{"ti,twl4030-power-idle", chip, twl_asks, if_empty, if_empty, twl_power},
    PowerOffHandler{"ti,twl4030-power-idle-osc-off", chip, twl_asks, if_empty, if_empty, twl_power},
    PowerOffHandler{"ti,twl4030-power-omap3-sdp", chip, twl_asks, if_empty, if_empty, twl_power},
    PowerOffHandler{"ti,twl4030-power-omap3-ldp", chip, twl_asks, if_empty, if_empty, twl_power},
    PowerOffHandler{"ti,twl4030-power-omap3-evm", chip, twl_asks, if_empty, if_empty, twl_power},
    PowerOffHandler{"ti,twl6030", chip, controller, none, if_empty, twl},
    PowerOffHandler{"ti,twl6032", chip, controller, none, if_empty, twl},
    PowerOffHandler{"ams,as3722",
                    chip,
                    "ams,system-power-controller",
                    if_empty,
                    in_chain,
                    "drivers/power/reset/as3722-poweroff.c"},
    PowerOffHandler{"active-semi,act8600", chip, controller, if_empty, if_empty, act88},
    PowerOffHandler{"active-semi,act8846", chip, controller, if_empty, if_empty, act88},
    PowerOffHandler{"active-semi,act8865", chip, controller, if_empty, if_empty, act88},
    PowerOffHandler{"maxim,max77620", chip, controller, if_empty, if_empty, max776},
    PowerOffHandler{"maxim,max20024", chip, controller, if_empty, if_empty, max776},
    PowerOffHandler{"maxim,max77663", chip, controller, if_empty, if_empty, max776},
    PowerOffHandler{"maxim,max8907",
                    chip,
                    "maxim,system-power-controller",
                    if_empty,
                    if_empty,
                    "drivers/mfd/max8907.c"},
    PowerOffHandler{"ricoh,rn5t567", chip, controller, if_empty, if_empty, rn5},
    PowerOffHandler{"ricoh,rn5t618", chip, controller, if_empty, if_empty, rn5},
    PowerOffHandler{"ricoh,rc5t619", chip, controller, if_empty, if_empty, rn5},
    PowerOffHandler{"rohm,bd71828", chip, controller, none, if_empty, "drivers/mfd/rohm-bd71828.c"},
    PowerOffHandler{"st,stpmic1", chip, "", none, in_chain, "drivers/mfd/stpmic1.c"},
    PowerOffHandler{"marvell,88pm886-a1", chip, "", none, in_chain, "drivers/mfd/88pm886.c"},
    PowerOffHandler{"mediatek,mt6323-pwrc",
                    chip,
                    "",
                    always,
                    in_chain,
                    "drivers/power/reset/mt6323-poweroff.c"},
    PowerOffHandler{"actions,atc2603c", chip, "", if_empty, in_chain, atc260},
    PowerOffHandler{"actions,atc2609a", chip, "", if_empty, in_chain, atc260},
    PowerOffHandler{
        "stericsson,ab8500-sysctrl", chip, "", if_empty, if_empty, "drivers/mfd/ab8500-sysctrl.c"},
    PowerOffHandler{"nokia,retu", chip, "", if_empty, if_empty, "drivers/mfd/retu-mfd.c"},
    PowerOffHandler{
        "netronix,ntxec", other_processor, controller, if_empty, if_empty, "drivers/mfd/ntxec.c"},
    PowerOffHandler{"acer,a500-iconia-ec",
                    other_processor,
                    controller,
                    if_empty,
                    if_empty,
                    "drivers/mfd/acer-ec-a500.c"},
    PowerOffHandler{
        "ene,kb3930", other_processor, controller, if_empty, if_empty, "drivers/mfd/ene-kb3930.c"},
    PowerOffHandler{"cznic,turris-omnia-mcu",
                    other_processor,
                    "",
                    none,
                    {Stand::chain, firmware_priority},
                    "drivers/platform/cznic/turris-omnia-mcu-sys-off-wakeup.c"},
    PowerOffHandler{"atmel,at91sam9260-shdwc", shutdown, "", always, always, at91},
    PowerOffHandler{"atmel,at91sam9rl-shdwc", shutdown, "", always, always, at91},
    PowerOffHandler{"atmel,at91sam9x5-shdwc", shutdown, "", always, always, at91},
    PowerOffHandler{"atmel,sama5d2-shdwc", shutdown, "", always, always, sama5},
    PowerOffHandler{"microchip,sam9x60-shdwc", shutdown, "", always, always, sama5},
    PowerOffHandler{"microchip,sama7g5-shdwc", shutdown, "", always, always, sama5},
    PowerOffHandler{"cortina,gemini-power-controller",
                    shutdown,
                    "",
                    always,
                    in_chain,
                    "drivers/power/reset/gemini-poweroff.c"},
    PowerOffHandler{"renesas,rzv2m-pwc",
                    shutdown,
                    "renesas,rzv2m-pwc-power",
                    none,
                    in_chain,
                    "drivers/soc/renesas/pwc-rzv2m.c"},
    PowerOffHandler{"lltc,ltc2952",
                    "the button chip",
                    "",
                    if_empty,
                    if_empty,
                    "drivers/power/reset/ltc2952-poweroff.c"},
    PowerOffHandler{"qnap,power-off", other_processor, "", if_empty, if_empty, qnap},
    PowerOffHandler{"synology,power-off", other_processor, "", if_empty, if_empty, qnap},
    PowerOffHandler{"arm,vexpress-shutdown",
                    driver,
                    "",
                    always,
                    always,
                    "drivers/power/reset/vexpress-poweroff.c"},
    PowerOffHandler{
        "buffalo,ls421d", "the board's own code", "", always, always, linkstation, Origin::kernel},
    PowerOffHandler{
        "buffalo,ls421de", "the board's own code", "", always, always, linkstation, Origin::kernel},
    PowerOffHandler{"netgear,readynas-duo-v2",
                    "the board's own code",
                    "",
                    always,
                    always,
                    linkstation,
                    Origin::kernel},
    PowerOffHandler{"hardkernel,odroid-go-ultra",
                    "the board's own code",
                    "",
                    none,
                    {Stand::prepare, default_priority},
                    "drivers/power/reset/odroid-go-ultra-poweroff.c",
                    Origin::kernel},
    PowerOffHandler{"calxeda,hb-sregs",
                    shutdown,
                    "",
                    always,
                    always,
                    "arch/arm/mach-highbank/highbank.c",
                    Origin::kernel},
    PowerOffHandler{"via,vt8500-pmc",
                    shutdown,
                    "",
                    always,
                    always,
                    "arch/arm/mach-vt8500/vt8500.c",
                    Origin::kernel},
    PowerOffHandler{"fsl,imx6q-ccm",
                    "the processor's clock unit",
                    "fsl,pmic-stby-poweroff",
                    if_empty,
                    if_empty,
                    "arch/arm/mach-imx/pm-imx6.c",
                    Origin::kernel},
};

/// Sorted. Those of drivers/power/reset in 6.12, and the modules elsewhere that have a row above.
constexpr std::array<std::string_view, 61> known_modules{
    "88pm886",
    "ab8500_sysctrl",
    "acer_ec_a500",
    "act8865_regulator",
    "arm_versatile_reboot",
    "as3722_poweroff",
    "at91_poweroff",
    "at91_reset",
    "at91_sama5d2_shdwc",
    "atc260x_poweroff",
    "axp20x",
    "axp20x_i2c",
    "axp20x_rsb",
    "axxia_reset",
    "brcm_kona_reset",
    "brcmstb_reboot",
    "ene_kb3930",
    "ep93xx_restart",
    "gemini_poweroff",
    "gpio_poweroff",
    "gpio_restart",
    "hisi_reboot",
    "keystone_reset",
    "linkstation_poweroff",
    "ltc2952_poweroff",
    "max77620",
    "max8907",
    "msm_poweroff",
    "mt6323_poweroff",
    "ntxec",
    "nvmem_reboot_mode",
    "ocelot_reset",
    "odroid_go_ultra_poweroff",
    "palmas",
    "piix4_poweroff",
    "pwr_mlxbf",
    "qcom_pon",
    "qnap_poweroff",
    "reboot_mode",
    "regulator_poweroff",
    "restart_poweroff",
    "retu_mfd",
    "rk8xx_core",
    "rk8xx_i2c",
    "rk8xx_spi",
    "rmobile_reset",
    "rn5t618",
    "rohm_bd71828",
    "st_poweroff",
    "stpmic1",
    "syscon_poweroff",
    "syscon_reboot",
    "syscon_reboot_mode",
    "tps65086_restart",
    "tps65219",
    "tps6586x",
    "tps65910",
    "twl4030_power",
    "twl_core",
    "vexpress_poweroff",
    "xgene_reboot",
};

/// "x-powers,axp*" and "x-powers,axp209"; a part of such a chip has a further word,
/// "x-powers,axp209-gpio".
bool goes_by(std::string_view pattern, std::string_view compatible) {
    if (!pattern.ends_with('*')) {
        return compatible == pattern;
    }
    pattern.remove_suffix(1);
    return compatible.starts_with(pattern) &&
           compatible.find('-', pattern.size()) == std::string_view::npos;
}

}  // namespace

std::span<const PowerOffHandler> power_off_handlers() {
    return rows;
}

const PowerOffHandler* power_off_handler(std::string_view compatible) {
    const auto* const found =
        std::find_if(rows.begin(), rows.end(), [&](const PowerOffHandler& row) {
            return goes_by(row.compatible, compatible);
        });
    return found == rows.end() ? nullptr : found;
}

bool is_known_module(std::string_view module) {
    static_assert(std::is_sorted(known_modules.begin(), known_modules.end()));
    return std::binary_search(known_modules.begin(), known_modules.end(), module);
}

}  // namespace nightlatch::audit
