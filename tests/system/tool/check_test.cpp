// SPDX-License-Identifier: MIT
#include "run_tool.hpp"
#include "support/temporary_directory.hpp"

#include <filesystem>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

const std::string good = R"([button]
chip = "soc-gpio"
line = 17
pressed = "low"

[[feedback]]
led = "lid"
ready = "on"

[[stage]]
name = "off"
hold = "3 s"
action = "power-off"
)";

/// Taken with a warning.
const std::string dark = "[[feedback]]\nled = \"door\"\n";

/// An image: a system's root with a configuration that only its owner may write.
struct Image {
    TemporaryDirectory folder;
    std::string config = folder.path() + "/etc/nightlatch/nightlatch.toml";

    explicit Image(const std::string& text) {
        fs::create_directories(folder.path() + "/etc/nightlatch");
        fs::create_directories(folder.path() + "/etc/polkit-1/rules.d");
        write(config, text);
        fs::permissions(config, fs::perms(0644));
    }

    void install_rule() const {
        fs::copy_file(FILLED "/polkit/nightlatch-override.rules",
                      folder.path() + "/etc/polkit-1/rules.d/nightlatch-override.rules");
    }

    [[nodiscard]] Ran check(const std::string& arguments = "") const {
        return run_tool("check --root " + folder.path() + " " + arguments);
    }
};

bool is_root() {
    return geteuid() == 0;
}

}  // namespace

TEST_CASE("a fine configuration: the verdict first, then what it means", "[tool]") {
    const Image image(good);
    const Ran ran = image.check();
    CHECK(ran.status == 0);
    CHECK(ran.err.empty());
    CHECK_THAT(ran.out, StartsWith(image.config + (is_root() ? " is fine. Next: " : "")));
    CHECK_THAT(ran.out, ContainsSubstring("line number 17 of chip soc-gpio, pressed is low"));
    CHECK_THAT(ran.out, ContainsSubstring("let go after 3 s to 30 s  off  power off\n"));
}

TEST_CASE("the worked example in words", "[tool]") {
    const Image image(content(TREE "/config/examples/tide-logger.toml"));
    const Ran ran = image.check();
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, ContainsSubstring(R"(
button      line LID_BUTTON of chip soc-gpio, pressed is low, pulled up
            debounce 30 ms pressing, 160 ms letting go; stuck after 45 s
stages      let go after 1 s to 3 s    write now    announce "write now" to the programs that follow
            let go after 3 s to 10 s   off          power off
            let go after 10 s to 45 s  start again  reboot
leaving     after a countdown of 5 s, called off by another press
            another program's inhibitor lock refuses it
            a post-halt line that is wrong or absent is warned of
post-halt   line SUPPLY_RELEASE of chip soc-gpio, active high, for at least 100 ms
feedback    LED lid
            waiting                blink 0.5 Hz
            holding                blink 4 Hz
            ready for write now    blink 1 Hz
            ready for off          on
            ready for start again  blink 12 Hz
)"));
}

TEST_CASE("advice is a warning: told after what is wrong, and no reason not to use the file",
          "[tool]") {
    const std::string mute =
        good.substr(0, good.find("[[feedback]]")) + good.substr(good.find("[[stage]]"));
    const Image image(mute);
    const Ran ran = image.check();
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, ContainsSubstring("can be used, with "));
    CHECK_THAT(ran.out, ContainsSubstring("warning: feedback: no output shows the cue ready"));
    const Json json = Json::parse(image.check("--json").out, nullptr, false);
    CHECK(json["fine"] == true);
    CHECK(json["found"][0]["key"] == "feedback");
}

TEST_CASE("mistakes: how many and what next, then each, errors before warnings", "[tool]") {
    const Image image(dark + good + "bias = 3\nhold = \"4 s\"\n");
    const Ran no_toml = image.check();
    CHECK(no_toml.status == 2);
    CHECK_THAT(no_toml.out, StartsWith(image.config + ": 1 error"));
    CHECK_THAT(no_toml.out, ContainsSubstring(image.config + ":17:"));

    write(image.config, dark + good + "bias = 3\nholt = \"4 s\"\n");
    const Ran ran = image.check();
    CHECK(ran.status == 2);
    CHECK_THAT(ran.out, StartsWith(image.config + ": 2 errors, "));
    CHECK_THAT(ran.out,
               ContainsSubstring(". Next: correct the first one below and check again.\n\n" +
                                 image.config + ":16:1: error: stage.bias: "));
    CHECK_THAT(ran.out, ContainsSubstring(image.config + ":1:1: warning: feedback"));
    CHECK(ran.out.find("17:1: error: stage.holt") < ran.out.find(":1:1: warning: feedback"));
    CHECK(ran.out.find("let go after") == std::string::npos);
}

TEST_CASE("a file that cannot be read ends with 2 and the reason", "[tool]") {
    const TemporaryDirectory folder;
    const Ran missing = run_tool("check " + folder.path() + "/none.toml");
    CHECK(missing.status == 2);
    CHECK(missing.out.empty());
    CHECK_THAT(missing.err, StartsWith("nightlatch: cannot open " + folder.path() + "/none.toml"));
    CHECK(run_tool("check " + folder.path()).status == 2);
    write(folder.path() + "/large.toml", std::string(1'048'577, '#'));
    CHECK(run_tool("check " + folder.path() + "/large.toml").status == 2);
}

TEST_CASE("a wrong command line ends with 2 and says so on standard error", "[tool]") {
    for (const char* arguments : {"", "check --json --print a"}) {
        INFO(arguments);
        const Ran ran = run_tool(arguments);
        CHECK(ran.status == 2);
        CHECK(ran.out.empty());
        CHECK_FALSE(ran.err.empty());
    }
}

TEST_CASE("the version can be asked for", "[tool]") {
    const Ran ran = run_tool("--version");
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, StartsWith("nightlatch "));
}

TEST_CASE("with --json: one versioned object", "[tool]") {
    const Image image(good + "\n" + dark);
    const Ran ran = image.check("--json");
    CHECK(ran.status == 0);
    const Json json = Json::parse(ran.out, nullptr, false);
    REQUIRE(json.is_object());
    CHECK(json["format"] == "nightlatch-check");
    CHECK(json["version"] == 1);
    CHECK(json["file"] == image.config);
    CHECK(json["fine"] == true);
    const Json& first = json["found"][0];
    CHECK(first["severity"] == "warning");
    CHECK(first["key"] == "feedback");
    CHECK(first["line"] == 15);
    CHECK(first["column"] == 1);
    CHECK(json["settings"]["button"]["line"] == "17");
    CHECK(json["settings"]["stage"][0]["hold_us"] == 3'000'000);
    CHECK(json["settings"]["feedback"][0]["ready"] == "on");
    CHECK(json["settings"]["logbook"]["keep"] == 400);
    CHECK_FALSE(json["settings"].contains("circuit"));

    write(image.config, good + "\n[circuit]\nsupply_voltage = \"12 V\"\n");
    const Json circuit = Json::parse(image.check("--json").out, nullptr, false);
    REQUIRE(circuit["settings"].contains("circuit"));
    CHECK(circuit["settings"]["circuit"]["supply_voltage"] == "12 V");

    std::string by_stage = good;
    by_stage.replace(by_stage.find("\"on\""), 4, "{ off = \"blink 2 Hz\" }");
    write(image.config, by_stage);
    const Json looks = Json::parse(image.check("--json").out, nullptr, false);
    CHECK(looks["settings"]["feedback"][0]["ready"] == Json{{"off", "blink 2 Hz"}});

    write(image.config, "[button");
    const Ran bad = image.check("--json");
    CHECK(bad.status == 2);
    const Json wrong = Json::parse(bad.out, nullptr, false);
    CHECK(wrong["fine"] == false);
    CHECK(wrong["settings"].is_null());
    CHECK(wrong["found"][0]["key"] == "syntax");
}

TEST_CASE("with --print: writes a configuration that means the same, and nothing else", "[tool]") {
    const Image image(content(TREE "/config/examples/tide-logger.toml"));
    const Ran ran = image.check("--print");
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, StartsWith("[button]\n"));
    write(image.config, ran.out);
    CHECK(image.check("--print").out == ran.out);

    write(image.config, "[button]\n");
    const Ran bad = image.check("--print");
    CHECK(bad.status == 2);
    CHECK(bad.out.empty());
    CHECK_THAT(bad.err, ContainsSubstring("button.chip: is missing"));
}

TEST_CASE("a file that others may write is warned of: the service would refuse it", "[tool]") {
    const Image image(good);
    fs::permissions(image.config, fs::perms(0666));
    const Ran ran = image.check();
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, ContainsSubstring(" can be used, with 1 warning. Next: "));
    CHECK_THAT(ran.out,
               ContainsSubstring(": warning: file: as it stands the service would refuse it: "));
    CHECK_THAT(ran.out, ContainsSubstring(is_root() ? "chmod go-w " : "chown root:root "));
}

TEST_CASE("leave.inhibitors and the installed rule must agree", "[tool]") {
    const std::string override_text = good + "\n[leave]\ninhibitors = \"override\"\n";
    SECTION("override without the rule") {
        const Ran ran = Image(override_text).check();
        CHECK(ran.status == 1);
        CHECK_THAT(ran.out, ContainsSubstring("error: leave.inhibitors: \"override\" needs"));
        CHECK_THAT(ran.out, ContainsSubstring("nightlatch-override.rules /etc/polkit-1/rules.d/"));
    }
    SECTION("override with the rule") {
        const Image image(override_text);
        image.install_rule();
        CHECK(image.check().status == 0);
    }
    SECTION("respect with the rule") {
        const Image image(good);
        image.install_rule();
        const Ran ran = image.check();
        CHECK(ran.status == 1);
        CHECK_THAT(ran.out, ContainsSubstring("error: leave.inhibitors: \"respect\", but "));
        CHECK_THAT(ran.out, ContainsSubstring("remove that file"));
    }
    SECTION("a rule that cannot be read") {
        const Image image(override_text);
        fs::create_directory(image.folder.path() + "/etc/polkit-1/rules.d/x.rules");
        const Ran ran = image.check();
        CHECK(ran.status == 0);
        CHECK_THAT(ran.out, ContainsSubstring("note: leave.inhibitors: cannot see whether"));
    }
}

TEST_CASE("an alarm's inhibitors and the installed rule must agree, too", "[tool]") {
    const std::string alarm = good + "\n[[alarm]]\nname = \"battery low\"\nchip = \"soc-gpio\"\n"
                                     "line = \"BATTERY_LOW\"\nactive = \"low\"\n";
    SECTION("override without the rule") {
        const Ran ran = Image(alarm + "inhibitors = \"override\"\n").check();
        CHECK(ran.status == 1);
        CHECK_THAT(ran.out, ContainsSubstring("error: alarm.inhibitors: \"override\" needs"));
    }
    SECTION("override with the rule, beside a button that respects locks") {
        const Image image(alarm + "inhibitors = \"override\"\n");
        image.install_rule();
        const Ran ran = image.check();
        CHECK(ran.status == 0);
        CHECK_THAT(ran.out, ContainsSubstring("note: leave.inhibitors: \"respect\" beside"));
    }
    SECTION("respect with the rule") {
        const Image image(alarm);
        image.install_rule();
        CHECK(image.check().status == 1);
    }
    SECTION("an alarm that only announces needs no rule") {
        const Ran ran = Image(alarm + "inhibitors = \"override\"\naction = \"announce\"\n").check();
        CHECK(ran.status == 0);
        CHECK_THAT(ran.out, ContainsSubstring("warning: alarm.inhibitors: \"override\" is of no"));
    }
}

TEST_CASE("an alarm in words", "[tool]") {
    const Image image(good + "\n[[alarm]]\nname = \"battery low\"\nchip = \"soc-gpio\"\n"
                             "line = \"BATTERY_LOW\"\nactive = \"low\"\nbias = \"pull-up\"\n"
                             "repeat = \"1 min\"\n"
                             "\n[[alarm]]\nname = \"hatch open\"\nchip = \"soc-gpio\"\nline = 9\n"
                             "active = \"high\"\naction = \"announce\"\nat_start = \"count\"\n");
    CHECK_THAT(image.check().out, ContainsSubstring(R"(
alarm       "battery low": line BATTERY_LOW of chip soc-gpio, pulled up
            low for 10 s: power off, without a countdown
            another program's inhibitor lock refuses it; after a refusal again every 1 min
            low already when the board starts: ignored until it has been over
alarm       "hatch open": line number 9 of chip soc-gpio, bias left as it is
            high for 10 s: announce "hatch open" to the programs that follow
            high already when the board starts: counts, too
)"));
}
