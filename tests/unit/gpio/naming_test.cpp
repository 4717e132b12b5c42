// SPDX-License-Identifier: MIT
#include "daemon/gpio/naming.hpp"
#include "support/temporary_directory.hpp"

#include <filesystem>
#include <string>
#include <vector>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;

TEST_CASE("buses whose transfers sleep are known by their places in sysfs", "[gpio]") {
    CHECK(gpio::behind_slow_bus("/sys/devices/platform/soc/fe804000.i2c/i2c-1/1-0020/gpiochip2"));
    CHECK(gpio::behind_slow_bus(
        "/sys/devices/platform/soc/fe204000.spi/spi_master/spi0/spi0.0/gpiochip2"));
    CHECK(gpio::behind_slow_bus("/sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/gpiochip0"));
    CHECK_FALSE(gpio::behind_slow_bus("/sys/devices/platform/soc/fe200000.gpio/gpiochip0"));
    CHECK_FALSE(gpio::behind_slow_bus("/sys/devices/platform/soc/fe204000.spi/gpiochip1"));
}

TEST_CASE("links are found below a folder with what they lead to in the end", "[gpio]") {
    namespace fs = std::filesystem;
    const test::TemporaryDirectory dev;
    const std::string home = fs::canonical(dev.path()).string();
    fs::create_directories(home + "/gauge");
    fs::create_directories(home + "/elsewhere");
    fs::create_symlink("/dev/null", home + "/gpiochip0");
    fs::create_symlink("gpiochip0", home + "/gpiochip4");
    fs::create_symlink("../gpiochip4", home + "/gauge/lid");
    fs::create_symlink("gpiochip99", home + "/nowhere");
    fs::create_symlink("ring", home + "/ring");
    fs::create_directory_symlink("gauge", home + "/panel");

    std::vector<std::string> seen;
    for (const gpio::Link& link : gpio::links_below(home)) {
        seen.push_back(link.path.substr(home.size()) + " " + link.target);
    }
    CHECK(seen == std::vector<std::string>{"/gauge/lid /dev/null",
                                           "/gpiochip0 /dev/null",
                                           "/gpiochip4 /dev/null",
                                           "/panel " + home + "/gauge"});
    CHECK(gpio::links_below(home + "/no-such-folder").empty());
}
