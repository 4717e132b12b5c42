// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "support/fake_gpiod.hpp"
#include "unit/facts/made.hpp"

#include <chrono>
#include <string>

namespace nightlatch::test {

/// A running board's files as the look at the post-halt line reads them, with nothing wrong: a tree
/// of so many devices more, the driver bound to the post-halt node, and the chip that has the line.
class MadeBoard {
public:
    explicit MadeBoard(unsigned devices) {
        make_tree(devices);
        made.file(driver_ + "/bind", "");
        made.file(driver_ + "/unbind", "");
        made.file(driver_ + "/uevent", "");
        made.link(driver_ + "/release", "../../../../devices/platform/release");
        made.link("/sys/devices/platform/release/of_node",
                  "../../../firmware/devicetree/base/release");
        made.link("/sys/bus/gpio/devices/gpiochip0/of_node", made.root() + base_ + "/soc/gpio@200");
        FakeChip& chip = gpio.add(0, "soc-gpio", {"", "LID_BUTTON", "SUPPLY_RELEASE"});
        chip.lines[2].user = "release";
        chip.lines[2].output = true;
    }

    void unbind() const { std::filesystem::remove(made.root() + driver_ + "/release"); }

    void remove_node() const { std::filesystem::remove_all(made.root() + base_ + "/release"); }

    [[nodiscard]] gpio::Places places() const { return {gpio.places().dev, made.root() + "/sys"}; }

    static config::Settings settings() {
        config::Settings settings;
        settings.button.where = {"soc-gpio", "LID_BUTTON"};
        settings.core.stages = {{"off", std::chrono::seconds(3), core::Action::power_off}};
        settings.post_halt.where = {"soc-gpio", "SUPPLY_RELEASE"};
        settings.post_halt.active_low = false;
        settings.post_halt.pulse = std::chrono::milliseconds(100);
        return settings;
    }

    MadeFolder made;
    FakeGpio gpio;

private:
    static std::string cell(unsigned value) {
        return {'\0', '\0', static_cast<char>(value >> 8U), static_cast<char>(value & 255U)};
    }

    static std::string text(const std::string& value) { return value + '\0'; }

    void make_tree(unsigned devices) const {
        made.file(base_ + "/compatible", text("harbour,tide-logger"));
        made.file(base_ + "/soc/gpio@200/gpio-controller", "");
        made.file(base_ + "/soc/gpio@200/#gpio-cells", cell(2));
        made.file(base_ + "/soc/gpio@200/phandle", cell(7));
        made.file(base_ + "/release/compatible", text("gpio-poweroff"));
        made.file(base_ + "/release/gpios", cell(7) + cell(2) + cell(0));
        for (unsigned i = 0; i < devices; ++i) {
            const std::string node = base_ + "/soc/device@" + std::to_string(1000 + i);
            made.file(node + "/compatible", text("pontoon,device"));
            made.file(node + "/name", text("device"));
            made.file(node + "/reg", cell(1000 + i));
            made.file(node + "/status", text("okay"));
            made.file(node + "/label", text("device " + std::to_string(i)));
            made.file(node + "/interrupts", cell(i) + cell(4));
            made.file(node + "/reset-gpios", cell(7) + cell(8 + i % 24) + cell(1));
        }
    }

    const std::string base_ = "/sys/firmware/devicetree/base";
    const std::string driver_ = "/sys/bus/platform/drivers/poweroff-gpio";
};

}  // namespace nightlatch::test
