// SPDX-License-Identifier: MIT
// Any bytes give an intent that keeps its promises, never a crash; the fuzzers look for longer.
#include "bootfiles/env_txt.hpp"
#include "bootfiles/extlinux.hpp"
#include "fuzz/promises.hpp"
#include "intents.hpp"
#include "unit/config/mutator.hpp"

#include <functional>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;
using test::Dice;

namespace {

const std::vector<std::string> seeds{
    "[all]\ndtparam=audio=on\n[pi4]\ndtoverlay=gpio-poweroff,gpiopin=6,active_low=1\n"
    "dtparam=active_delay_ms=200\n[gpio4=1]\ngpio=17,20-22=op,dh\ninclude config.txt\n[none]\n"
    "dtoverlay=\ndtoverlay=gpio-key:gpio=5\noverlay_prefix=mine/\n",
    "verbosity=1\noverlay_prefix=rk3588\noverlays=w1-gpio uart1 \\\ni2c0\nparam_w1_pin=PA20\r\n"
    "user_overlays=supply-release\noverlays=\"x\"\n#\n=x\n",
    "default b\nmenu include x\nlabel a\n\tkernel /k\n\tfdtdir /d\n\tfdtoverlays /a.dtbo /b.dtbo\n"
    "label b\nlinux /k\nfdt /t\ndevicetree-overlay /c\r\nmenu default\nwatchdog 1\nappend\n"};

using Parser = std::function<Intent(std::string_view)>;

const std::vector<Parser> parsers{
    [](std::string_view text) { return test::config_txt(text); },
    [](std::string_view text) { return read_env_txt("env.txt", text); },
    [](std::string_view text) { return read_extlinux("extlinux.conf", text); }};

/// How much of what came of all texts was there to break a promise?
struct Tally {
    std::size_t overlays = 0;
    std::size_t remarks = 0;
};

void check(const std::string& text, const Parser& parser, Tally& tally) {
    const Intent intent = parser(text);
    std::string promise = test::broken(intent, {{intent.file, text}});
    if (promise.empty()) {
        promise = test::broken_by_shift(intent, parser("#\n" + text));
    }
    if (!promise.empty()) {
        FAIL(promise << "\nof this text:\n" << text);
    }
    tally.overlays += intent.overlays.size();
    tally.remarks += intent.remarks.size();
}

}  // namespace

TEST_CASE("random bytes give an intent that keeps its promises", "[bootfiles][bytes]") {
    Dice dice(test::seed_for("random bytes"));
    Tally tally;
    for (int i = 0; i < 2'000; ++i) {
        const std::string text = test::random_bytes(dice, 400);
        for (const Parser& parser : parsers) {
            check(text, parser, tally);
        }
    }
    CHECK(tally.remarks > 100);
}

TEST_CASE("damaged boot files give an intent that keeps its promises", "[bootfiles][bytes]") {
    Dice dice(test::seed_for("damaged boot files"));
    for (const Parser& parser : parsers) {
        Tally tally;
        for (int i = 0; i < 3'000; ++i) {
            check(test::mutated(dice, seeds, seeds), parser, tally);
        }
        CHECK(tally.overlays > 1'000);
        CHECK(tally.remarks > 1'000);
    }
}
