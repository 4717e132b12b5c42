// SPDX-License-Identifier: MIT
// What an image's own files say of systemd, by systemd's precedence.
#include "daemon/facts/drop_ins.hpp"
#include "daemon/facts/hang.hpp"
#include "daemon/facts/mounts.hpp"
#include "daemon/facts/systemd_config.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <sys/stat.h>

using namespace nightlatch;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;

namespace {

audit::LoginFacts login_of(const test::MadeFolder& made) {
    audit::LoginFacts login;
    facts::read_logind_config(made.root(), login);
    return login;
}

}  // namespace

TEST_CASE("a time span is read as systemd reads it", "[facts]") {
    // The examples of systemd.time(7), "PARSING TIME SPANS".
    CHECK(facts::time_span("2 h") == Duration(2h));
    CHECK(facts::time_span("2hours") == Duration(2h));
    CHECK(facts::time_span("48hr") == Duration(48h));
    CHECK(facts::time_span("55s500ms") == Duration(55'500ms));
    CHECK(facts::time_span("300ms20s 5day") == Duration(300ms + 20s + 120h));
    CHECK(facts::time_span("1.5min") == Duration(90s));
    CHECK(facts::time_span("90") == Duration(90s));
    CHECK(facts::time_span("infinity") == Duration::max());
    CHECK(facts::time_span("9000000000000 weeks 1s") == Duration::max());
    for (const char* const none : {"", "soon", "5 moons", "s", "-1", "1..5s"}) {
        CHECK_FALSE(facts::time_span(none));
    }
}

TEST_CASE("of one section the assignments are kept, until an empty one takes them back",
          "[facts]") {
    facts::SystemdKeys keys;
    // systemd.syntax(7): comments, a line that goes on with a comment within it.
    facts::take_section("A=0\n[Login]\nA = 1\n# A=2\n;A=3\nB=x \\\n# not this\n  y\nC=1\nC=\n"
                        "[Other]\nA=4\n",
                        "Login",
                        keys);
    CHECK(keys == facts::SystemdKeys{{"A", {"1"}}, {"B", {"x  y"}}});
}

TEST_CASE("files hold in the order of their names, and one hides its namesakes", "[facts]") {
    const test::MadeFolder made;
    made.file("/usr/lib/x.d/10-a.conf", "");
    made.file("/usr/lib/x.d/50-b.conf", "");
    made.file("/usr/lib/x.d/70-c.conf", "");
    made.file("/etc/x.d/50-b.conf", "");
    made.file("/etc/x.d/20-d.conf", "");
    made.file("/etc/x.d/99-e.txt", "");
    made.link("/etc/x.d/70-c.conf", "/dev/null");
    const std::vector<std::string> folders{"/etc/x.d", "/run/x.d", "/usr/lib/x.d"};
    CHECK(*facts::drop_ins(made.root(), folders) ==
          std::vector<std::string>{
              "/usr/lib/x.d/10-a.conf", "/etc/x.d/20-d.conf", "/etc/x.d/50-b.conf"});
}

TEST_CASE("an image's login manager does what its files say", "[facts]") {
    const test::MadeFolder made;
    CHECK_THAT(login_of(made).delay_limit.what_is_missing(), ContainsSubstring("systemd ("));
    made.file("/usr/lib/systemd/systemd", "");
    // The defaults: logind.conf(5).
    CHECK(*login_of(made).handle_power_key == "poweroff");
    CHECK(*login_of(made).handle_power_key_long_press == "ignore");
    CHECK(*login_of(made).delay_limit == 5s);
    made.file("/usr/lib/systemd/logind.conf", "[Login]\nHandlePowerKey=reboot\n");
    made.file("/usr/lib/systemd/logind.conf.d/50-x.conf", "[Login]\nInhibitDelayMaxSec=30\n");
    CHECK(*login_of(made).handle_power_key == "reboot");
    CHECK(*login_of(made).delay_limit == 30s);
    made.file("/etc/systemd/logind.conf", "[Login]\nInhibitDelayMaxSec=1min\n");
    CHECK(*login_of(made).handle_power_key == "poweroff");
    CHECK(*login_of(made).delay_limit == 30s);  // what is added has the last word
    made.file("/etc/systemd/logind.conf.d/50-x.conf", "[Login]\nHandlePowerKey=ignore\n");
    CHECK(*login_of(made).handle_power_key == "ignore");
    CHECK(*login_of(made).delay_limit == 1min);
    REQUIRE(mkfifo((made.root() + "/etc/systemd/logind.conf.d/99-pipe.conf").c_str(), 0600) == 0);
    CHECK_THAT(login_of(made).delay_limit.what_is_missing(),
               ContainsSubstring("99-pipe.conf (not a regular file)"));
}

TEST_CASE("an image's service manager does what its files say", "[facts]") {
    const test::MadeFolder made;
    made.file("/lib/systemd/systemd", "");
    // The defaults: systemd-system.conf(5).
    auto manager = facts::read_manager_config(made.root());
    CHECK(*manager.default_stop_timeout == 90s);
    CHECK_FALSE(manager.runtime_watchdog->has_value());
    CHECK(*manager.reboot_watchdog == std::optional<Duration>(10min));
    made.file(
        "/etc/systemd/system.conf.d/a.conf",
        "[Manager]\nDefaultTimeoutStopSec=20s\nRuntimeWatchdogSec=30\nRebootWatchdogSec=off\n");
    manager = facts::read_manager_config(made.root());
    CHECK(*manager.default_stop_timeout == 20s);
    CHECK(*manager.runtime_watchdog == std::optional<Duration>(30s));
    CHECK_FALSE(manager.reboot_watchdog->has_value());
    made.file("/etc/systemd/system.conf.d/b.conf",
              "[Manager]\nRuntimeWatchdogSec=default\nDefaultTimeoutStopSec=soon\n");
    manager = facts::read_manager_config(made.root());
    CHECK(*manager.default_stop_timeout == 20s);
    CHECK_FALSE(manager.runtime_watchdog);
}

TEST_CASE("a sysctl file that cannot be read could set anything", "[facts]") {
    const test::MadeFolder made;
    made.file("/usr/lib/sysctl.d/50-a.conf", "kernel.panic = 1\n");
    made.file("/usr/lib/sysctl.d/60-b.conf", "kernel.panic = 2\n");
    made.link("/etc/sysctl.d/60-b.conf", "/dev/null");
    CHECK(*facts::hang_of_image(made.root()).panic_seconds == 1);
    made.link("/etc/sysctl.d/70-c.conf", "/nowhere");
    CHECK(*facts::hang_of_image(made.root()).panic_seconds == 1);
    made.folder("/etc/sysctl.d/80-d.conf");
    CHECK_THAT(facts::hang_of_image(made.root()).panic_seconds.what_is_missing(),
               ContainsSubstring("80-d.conf (not a regular file)"));
}

TEST_CASE("an image's fstab tells what will be mounted, and of / only that it is read-only",
          "[facts]") {
    const test::MadeFolder made;
    made.file("/etc/fstab",
              "LABEL=a / ext4 noatime 0 1\nLABEL=b /boot/firmware vfat defaults 0 2\n"
              "LABEL=c /media/stick vfat noauto 0 0\nLABEL=d none swap sw 0 0\n");
    const auto mounts = facts::mounts_of_image(made.root());
    REQUIRE(mounts->size() == 1);
    CHECK(mounts->at(0).where == "/boot/firmware");
    CHECK_FALSE(mounts->at(0).read_only);
    made.file("/etc/fstab", "LABEL=a / ext4 ro 0 1\n");
    CHECK(facts::mounts_of_image(made.root())->at(0).read_only);
}
