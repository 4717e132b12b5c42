// SPDX-License-Identifier: MIT
#include "audit/remedy.hpp"
#include "support/good_unit.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::EndsWith;

namespace {

Facts without_node() {
    Facts facts = good_unit();
    remove_node(facts, post_halt_node);
    return facts;
}

void set_loader(Facts& facts, bootfiles::Loader loader, const char* file) {
    bootfiles::Intent intent;
    intent.loader = loader;
    intent.file = file;
    facts.boot = std::vector<bootfiles::Intent>{intent};
}

std::string remedy_of(const Facts& facts) {
    const Scene scene = make_scene(facts);
    return post_halt_remedy(scene, scene.node);
}

}  // namespace

TEST_CASE("with the firmware's file the remedy is the line for it", "[audit][remedy]") {
    Facts facts = without_node();
    set_loader(facts, bootfiles::Loader::config_txt, "/boot/firmware/config.txt");
    edit_config(facts, "pulse = \"100 ms\"", "pulse = \"250.5 ms\"");
    CHECK_THAT(remedy_of(facts),
               EndsWith("Add this at the end of /boot/firmware/config.txt, and reboot:\n"
                        "    [all]\n"
                        "    dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=251"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("Caution: from the next boot on"));
}

TEST_CASE("an overlay line that is there is replaced, not doubled", "[audit][remedy]") {
    Facts facts = good_unit();
    set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, 6, 1}));
    set_loader(facts, bootfiles::Loader::config_txt, "config.txt");
    known(facts.boot)
        .front()
        .overlays.push_back(
            {"gpio-poweroff", "", {"config.txt", 14}, bootfiles::Certainty::yes, "", {}});
    CHECK_THAT(remedy_of(facts), ContainsSubstring("Replace line 14 of config.txt"));
    CHECK_THAT(remedy_of(facts), EndsWith("dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=200"));
}

TEST_CASE("the firmware's overlay cannot speak of an expander's lines", "[audit][remedy]") {
    Facts facts = without_node();
    set_loader(facts, bootfiles::Loader::config_txt, "config.txt");
    edit_config(
        facts, "\"soc-gpio\"\nline = \"SUPPLY_RELEASE\"", "\"float-expander\"\nline = \"HATCH\"");
    CHECK_THAT(remedy_of(facts), ContainsSubstring("/plugin/;"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("gpios = <2 2 0>;"));
    CHECK_THAT(remedy_of(facts), EndsWith("[all]\n    dtoverlay=post-halt-line"));
}

TEST_CASE("each boot loader has its own place for an overlay", "[audit][remedy]") {
    Facts facts = without_node();
    set_loader(facts, bootfiles::Loader::env_txt, "/boot/boardEnv.txt");
    known(facts.boot).front().overlay_word = "user_overlays=";
    CHECK_THAT(remedy_of(facts), EndsWith("user_overlays=post-halt-line"));
    set_loader(facts, bootfiles::Loader::extlinux, "/boot/extlinux/extlinux.conf");
    CHECK_THAT(remedy_of(facts), EndsWith("fdtoverlays /boot/post-halt-line.dtbo"));
    facts.boot = std::vector<bootfiles::Intent>{};
    CHECK_THAT(remedy_of(facts),
               EndsWith("fdtoverlay -i BOARD.dtb -o NEW.dtb post-halt-line.dtbo"));
}

TEST_CASE("an overlay names the controller by label, by phandle, or by its path",
          "[audit][remedy]") {
    Facts facts = without_node();
    CHECK_THAT(remedy_of(facts), ContainsSubstring("gpios = <1 6 0>;"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("look again after a kernel update"));
    add_node(facts, "/__symbols__", {{"tide_gpio", strings({gpio})}});
    CHECK_THAT(remedy_of(facts), ContainsSubstring("gpios = <&tide_gpio 6 0>;"));
    remove_node(facts, "/__symbols__");
    remove_node(facts, "/leds");
    remove_property(facts, gpio, "phandle");
    CHECK_THAT(remedy_of(facts), ContainsSubstring("gpios = <&line_controller 6 0>;"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("target-path = \"/soc/gpio@9030000\";"));
}

TEST_CASE("polarity and a long pulse stand in the overlay, and banks where a controller has them",
          "[audit][remedy]") {
    Facts facts = without_node();
    edit_config(
        facts, "active = \"high\"\npulse = \"100 ms\"", "active = \"low\"\npulse = \"1 s\"");
    CHECK_THAT(remedy_of(facts), ContainsSubstring("gpios = <1 6 1>;"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("active-delay-ms = <1000>;"));
    remove_node(facts, "/leds");
    set_property(facts, gpio, "#gpio-cells", cells({3}));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("its way of counting is not known here"));
    set_property(facts, gpio, "compatible", strings({"allwinner,sun50i-a64-pinctrl"}));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("gpios = <1 0 6 1>;"));
}

TEST_CASE("where a controller counts its pins from 1, the overlay does", "[audit][remedy]") {
    // linux drivers/pinctrl/qcom/pinctrl-spmi-gpio.c, pinctrl-ssbi-gpio.c, their -mpp.c: of_xlate.
    for (const char* const compatible :
         {"qcom,spmi-gpio", "qcom,spmi-mpp", "qcom,ssbi-gpio", "qcom,ssbi-mpp"}) {
        Facts facts = without_node();
        remove_node(facts, "/leds");
        set_property(facts, gpio, "compatible", strings({compatible}));
        CHECK_THAT(remedy_of(facts), ContainsSubstring("gpios = <1 7 0>;"));
    }
}

TEST_CASE("the remedy says where this boot loader takes an overlay from, in its own words",
          "[audit][remedy]") {
    using bootfiles::Loader;
    using bootfiles::Writer;

    const struct {
        Loader loader;
        Writer writer;
        const char* word;
        const char* says;
    } cases[]{
        // armbian/documentation, User-Guide_Armbian_overlays.
        {Loader::env_txt, Writer::nobody, "user_overlays=", "    user_overlays=post-halt-line"},
        // elinux.org, Beagleboard:BeagleBoneBlack_Debian, U-Boot Overlays.
        {Loader::env_txt,
         Writer::nobody,
         "uboot_overlay_addr4=/lib/firmware/",
         "    uboot_overlay_addr4=/lib/firmware/post-halt-line.dtbo"},
        {Loader::env_txt, Writer::nobody, "fdtoverlays=", "    fdtoverlays=… post-halt-line.dtbo"},
        {Loader::env_txt, Writer::nobody, "", "could not be seen"},
        // U-Boot doc/README.pxe.
        {Loader::extlinux, Writer::nobody, "", "    fdtoverlays /boot/post-halt-line.dtbo"},
        // Debian u-boot-menu, u-boot-update(8).
        {Loader::extlinux, Writer::u_boot_menu, "", "    sudo u-boot-update"},
        {Loader::config_txt, Writer::nobody, "", "    dtoverlay=post-halt-line"},
        // Debian raspi-firmware, the head of its config.txt.
        {Loader::config_txt, Writer::raspi_firmware, "", "/etc/default/raspi-firmware-custom"},
    };

    for (const auto& one : cases) {
        INFO(one.says);
        Facts facts = without_node();
        bootfiles::Intent intent;
        intent.loader = one.loader;
        intent.file = "/boot/text";
        intent.writer = one.writer;
        intent.overlay_word = one.word;
        // Without the firmware's own overlay one of ours is what is left.
        intent.parametric_overlay = bootfiles::FileSeen::missing;
        facts.boot = std::vector<bootfiles::Intent>{intent};
        CHECK_THAT(remedy_of(facts), ContainsSubstring(one.says));
        CHECK_THAT(remedy_of(facts), ContainsSubstring("dtc -@ -W no-gpios_property "));
    }
}

TEST_CASE("of a node that is there only what is wrong is changed", "[audit][remedy]") {
    Facts facts = good_unit();
    set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, 6, 1}));
    CHECK_THAT(remedy_of(facts), !ContainsSubstring("active-delay-ms"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("gpios = <1 6 0>;"));
    edit_config(facts, "pulse = \"100 ms\"", "pulse = \"300 ms\"");
    CHECK_THAT(remedy_of(facts), ContainsSubstring("active-delay-ms = <300>;"));
}

TEST_CASE("what [post_halt] does not say no remedy makes up", "[audit][remedy]") {
    Facts facts = without_node();
    for (const char* key :
         {"active = \"high\"\n", "chip = \"soc-gpio\"\nline = \"SUPPLY_RELEASE\"\n"}) {
        edit_config(facts, key, "");
        CHECK_THAT(remedy_of(facts), ContainsSubstring("State chip, line and active"));
    }
}

TEST_CASE("where the line cannot be placed the remedy says why, and not that it is unstated",
          "[audit][remedy]") {
    Facts facts = as_image(without_node());
    edit_config(facts, "\"soc-gpio\"\nline = \"SUPPLY_RELEASE\"", "\"tide-gpio\"\nline = \"6\"");
    CHECK_THAT(remedy_of(facts), !ContainsSubstring("State chip"));
    CHECK_THAT(remedy_of(facts),
               ContainsSubstring("which controller of the device tree the chip \"tide-gpio\" is"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("/soc/i2c@9040000/expander@20"));
}

TEST_CASE("beyond the controller's last line there is no text to add", "[audit][remedy]") {
    Facts facts = without_node();
    set_property(facts, gpio, "ngpios", cells({4}));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("is beyond the controller's last"));
}

TEST_CASE("where a request leaves the pad as it is the overlay sets it, or says what to add",
          "[audit][remedy]") {
    Facts facts = without_node();
    set_property(facts, gpio, "compatible", strings({"fsl,imx6q-gpio", "fsl,imx35-gpio"}));
    set_property(facts, gpio, "gpio-ranges", cells({41, 0, 30, 8}));
    add_node(facts,
             "/soc/iomuxc@9060000",
             {{"compatible", strings({"fsl,imx6q-iomuxc"})}, {"phandle", cells({41})}});
    CHECK_THAT(remedy_of(facts), ContainsSubstring("fsl,pins = <0x90 0 0 5 0 0x80000000>;"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("pinctrl-0 = <&post_halt_pad>;"));
    remove_property(facts, gpio, "gpio-ranges");
    CHECK_THAT(remedy_of(facts), !ContainsSubstring("fsl,pins"));
    CHECK_THAT(remedy_of(facts), ContainsSubstring("This overlay does not set the line's pad"));
}
