// SPDX-License-Identifier: MIT
#include "unit/audit/rule_cases.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::EndsWith;
using Catch::Matchers::StartsWith;

namespace {

Mount& mount(Facts& facts, std::size_t at) {
    return known(facts.mounts).at(at);
}

Watchdog& dog(Facts& facts) {
    return known(facts.watchdogs).front();
}

void lock_in(Facts& facts, Duration timeout) {
    dog(facts).nowayout = true;
    dog(facts).timeout = timeout;
}

std::vector<BadCase> kernel_cases() {
    return {
        {"kernel-newest",
         Severity::warning,
         "newer kernel is installed",
         [](Facts& facts) { known(facts.booted.installed).push_back("6.12.41-pontoon"); }},
        {"kernel-newest",
         Severity::warning,
         "no longer installed",
         [](Facts& facts) { facts.booted.installed = std::vector<std::string>{"6.1.0-pontoon"}; }},
        {"kernel-arguments",
         Severity::warning,
         "the service does not run",
         [](Facts& facts) { known(facts.booted.arguments) += " systemd.unit=rescue.target"; }},
        {"kernel-arguments",
         Severity::note,
         "how a restart is done",
         [](Facts& facts) { known(facts.booted.arguments) += " reboot=warm"; }},
        {"halt-stays-on",
         Severity::warning,
         "with the supply on",
         [](Facts& facts) {
             known(facts.login).handle_power_key_long_press = std::string("halt");
         }},
    };
}

}  // namespace

std::vector<BadCase> audit::test::system_bad_cases() {
    std::vector<BadCase> all{
        {"root-storage",
         Severity::note,
         "nothing can be written",
         [](Facts& facts) { mount(facts, 0).read_only = true; }},
        {"root-storage",
         Severity::note,
         "gone at power-off",
         [](Facts& facts) { mount(facts, 0).type = "overlay"; }},
        {"boot-storage",
         Severity::warning,
         "mounted read-write",
         [](Facts& facts) { mount(facts, 1).read_only = false; }},
        {"failed-mount",
         Severity::note,
         "a boot that cannot mount /var/lib/tides ends in emergency mode",
         [](Facts& facts) {
             known(facts.boot_mounts)
                 .push_back({7, "/var/lib/tides", "ext4", {"noatime", "errors=remount-ro"}});
         }},
        {"watchdog-at-off",
         Severity::error,
         "before the post-halt line's sequence is over",
         [](Facts& facts) { lock_in(facts, 3s); }},
        {"watchdog-at-off",
         Severity::warning,
         "can outlast",
         [](Facts& facts) { lock_in(facts, 15s); }},
        {"hung-system",
         Severity::warning,
         "hangs or panics stays so",
         [](Facts& facts) {
             dog(facts).active = false;
             facts.manager.runtime_watchdog = std::optional<Duration>{};
             facts.hang.panic_seconds = 0;
         }},
        {"hung-system",
         Severity::note,
         "hangs without a panic",
         [](Facts& facts) {
             dog(facts).active = false;
             facts.manager.runtime_watchdog = std::optional<Duration>{};
         }},
        {"forced-power-off",
         Severity::note,
         "SysRq+O",
         [](Facts& facts) { facts.hang.sysrq = 438; }},
        {"forced-power-off", Severity::note, "SysRq+O", [](Facts& facts) { facts.hang.sysrq = 1; }},
    };
    for (const BadCase& one : kernel_cases()) {
        all.push_back(one);
    }
    return all;
}

TEST_CASE("the system's rules pass on the good unit, and each says what it saw", "[audit]") {
    for (const RuleResult& result : judged(system_rules(), good_unit())) {
        INFO(result.rule->id);
        CHECK_THAT(outcome(result.judgement), StartsWith("pass: "));
    }
}

TEST_CASE("each thing wrong with the system is found by its rule alone", "[audit]") {
    check_bad_cases(system_rules(), system_bad_cases());
}

TEST_CASE("what is not known of the system cannot be told", "[audit]") {
    for (const RuleResult& result : judged(system_rules(), Facts{})) {
        INFO(result.rule->id);
        CHECK_THAT(outcome(result.judgement), StartsWith("cannot tell: "));
    }
}

TEST_CASE("the logbook is judged by the file system that it is on", "[audit]") {
    Facts facts = good_unit();
    mount(facts, 0).read_only = true;
    known(facts.mounts).push_back({"/var/lib/nightlatch-old", "ext4", false});
    CHECK(findings_in(of("root-storage", facts)).size() == 1);
    known(facts.mounts).push_back({"/var/lib", "ext4", false});
    CHECK_THAT(outcome(of("root-storage", facts)), StartsWith("pass: "));
    known(facts.mounts).push_back({"/var/lib", "tmpfs", false});
    CHECK(findings_in(of("root-storage", facts)).size() == 1);
}

TEST_CASE("the logbook is judged where the configuration has it", "[audit]") {
    Facts facts = good_unit();
    known(facts.mounts).push_back({"/data", "tmpfs", false});
    CHECK_THAT(outcome(of("root-storage", facts)), StartsWith("pass: "));
    set_config(facts, good_config() + "\n[logbook]\npath = \"/data/tide/runs.jsonl\"\n");
    const auto findings = findings_in(of("root-storage", facts));
    REQUIRE(findings.size() == 1);
    CHECK_THAT(findings[0].remedy,
               ContainsSubstring("LABEL=records /data/tide ext4 noatime,nofail"));
}

TEST_CASE("a boot partition that is not FAT, or not at /boot, is not in danger", "[audit]") {
    Facts facts = good_unit();
    facts.mounts = std::vector<Mount>{
        {"/", "ext4", false}, {"/boot", "ext4", false}, {"/media/boot", "vfat", false}};
    CHECK_THAT(outcome(of("boot-storage", facts)), StartsWith("pass: "));
}

TEST_CASE("a watchdog that can be stopped, or does not run, is not a danger at power-off",
          "[audit]") {
    Facts facts = good_unit();
    dog(facts).timeout = Duration{1s};
    CHECK_THAT(outcome(of("watchdog-at-off", facts)), StartsWith("pass: "));
    lock_in(facts, 1s);
    dog(facts).active = false;
    CHECK_THAT(outcome(of("watchdog-at-off", facts)), StartsWith("pass: "));
}

TEST_CASE("a watchdog's time-out is measured against the post-halt node's own delays", "[audit]") {
    Facts facts = good_unit();
    lock_in(facts, 60s);
    CHECK_THAT(outcome(of("watchdog-at-off", facts)), StartsWith("pass: "));
    set_property(facts, post_halt_node, "timeout-ms", cells({60'000}));
    const auto findings = findings_in(of("watchdog-at-off", facts));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].severity == Severity::error);
    CHECK_THAT(findings[0].remedy, ContainsSubstring("RuntimeWatchdogSec=82"));
}

TEST_CASE("one watchdog that is not known does not hide what another does", "[audit]") {
    Facts facts = good_unit();
    Watchdog other = dog(facts);
    other.name = "watchdog1";
    other.nowayout = Known<bool>::missing("/sys/class/watchdog/watchdog1/nowayout (not there)");
    known(facts.watchdogs).push_back(other);
    CHECK_THAT(outcome(of("watchdog-at-off", facts)), EndsWith("nowayout (not there)"));
    lock_in(facts, 3s);
    CHECK(findings_in(of("watchdog-at-off", facts)).size() == 1);
}

TEST_CASE("without a watchdog or a post-halt node nothing is outlasted", "[audit]") {
    Facts facts = good_unit();
    lock_in(facts, 3s);
    remove_node(facts, post_halt_node);
    CHECK_THAT(outcome(of("watchdog-at-off", facts)), StartsWith("not applicable: "));
    facts = good_unit();
    facts.watchdogs = std::vector<Watchdog>{};
    CHECK_THAT(outcome(of("watchdog-at-off", facts)), StartsWith("not applicable: "));
}

TEST_CASE("a watchdog that is set up but has no device helps nobody", "[audit]") {
    Facts facts = good_unit();
    facts.watchdogs = std::vector<Watchdog>{};
    facts.hang.panic_seconds = 0;
    const auto findings = findings_in(of("hung-system", facts));
    REQUIRE(findings.size() == 1);
    CHECK_THAT(findings[0].evidence.at(0), ContainsSubstring("no device"));
    CHECK_THAT(findings[0].evidence.at(1), EndsWith("RuntimeWatchdogSec = 30 s"));
    CHECK_THAT(findings[0].remedy, !ContainsSubstring("RuntimeWatchdogSec="));
    CHECK_THAT(findings[0].remedy, ContainsSubstring("kernel.panic = 10"));
}

TEST_CASE("a negative kernel.panic restarts at once and is not a hang", "[audit]") {
    Facts facts = good_unit();
    dog(facts).active = false;
    facts.hang.panic_seconds = -1;
    const auto findings = findings_in(of("hung-system", facts));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].severity == Severity::note);
}

TEST_CASE("the remedy for SysRq leaves everything else as it was", "[audit]") {
    Facts facts = good_unit();
    facts.hang.sysrq = 438;
    CHECK_THAT(findings_in(of("forced-power-off", facts)).at(0).remedy,
               EndsWith("kernel.sysrq = 310"));
    facts.hang.sysrq = 310;
    CHECK_THAT(outcome(of("forced-power-off", facts)), StartsWith("pass: "));
}

TEST_CASE("only a local file system that the boot waits for can end it", "[audit]") {
    Facts facts = good_unit();
    const auto found = [&facts](const BootMount& mount) {
        known(facts.boot_mounts) = {mount};
        return findings_in(of("failed-mount", facts)).size();
    };
    CHECK(found({3, "/data", "ext4", {"defaults"}}) == 1);
    CHECK(found({3, "/boot/firmware", "vfat", {"ro"}}) == 1);
    for (const char* const option : {"nofail", "noauto", "x-systemd.automount", "_netdev"}) {
        INFO(option);
        CHECK(found({3, "/data", "ext4", {"noatime", option}}) == 0);
    }
    CHECK(found({3, "/", "ext4", {"defaults"}}) == 0);
    CHECK(found({3, "none", "swap", {"sw"}}) == 0);
    CHECK(found({3, "/tmp", "tmpfs", {"mode=1777"}}) == 0);
    CHECK(found({3, "/archive", "nfs", {"defaults"}}) == 0);
    facts.boot_mounts = Known<std::vector<BootMount>>::missing("/etc/fstab (not readable)");
    CHECK(outcome(of("failed-mount", facts)) == "cannot tell: /etc/fstab (not readable)");
}

TEST_CASE("of two kernels' releases the numbers say which is newer, of one flavour", "[audit]") {
    struct Pair {
        const char* runs;
        const char* other;
        bool newer;
    };

    // Releases as Debian 12 and 13, a board maker's flavours and a kernel of one's own have them.
    for (const Pair& pair : {Pair{"6.1.0-37-arm64", "6.1.0-38-arm64", true},
                             Pair{"6.1.0-9-arm64", "6.1.0-10-arm64", true},
                             Pair{"6.1.0-38-arm64", "6.1.0-37-arm64", false},
                             Pair{"6.12.38+deb13-arm64", "6.12.41+deb13-arm64", true},
                             Pair{"6.12.41+deb13-arm64", "6.12.38+deb13-arm64", false},
                             Pair{"6.12.25-rpt-v8", "6.12.34-rpt-2712", false},
                             Pair{"6.12.25-v8", "6.12.34-v8", true},
                             Pair{"6.6.31", "6.12.1", true},
                             Pair{"6.12.1", "6.6.31", false},
                             Pair{"6.1.0-38-arm64", "6.1.0-38-cloud-arm64", false}}) {
        INFO(pair.runs << ", " << pair.other);
        Facts facts = good_unit();
        known(facts.kernel).release = pair.runs;
        facts.booted.installed = std::vector<std::string>{pair.other, pair.runs};
        CHECK(findings_in(of("kernel-newest", facts)).size() == (pair.newer ? 1U : 0U));
    }
}

TEST_CASE("a system without modules has no kernel to compare with", "[audit]") {
    Facts facts = good_unit();
    facts.booted.installed = std::vector<std::string>{};
    CHECK_THAT(outcome(of("kernel-newest", facts)), StartsWith("not applicable: "));
}

TEST_CASE("words of the command line count as the kernel and systemd take them", "[audit]") {
    const auto found = [](const char* words) {
        Facts facts = good_unit();
        facts.booted.arguments = std::string(words);
        return findings_in(of("kernel-arguments", facts)).size();
    };
    CHECK(found("root=/dev/vda console=ttyS1 panic=10 efi=noruntime quiet") == 0);
    CHECK(found("single") == 1);
    CHECK(found("singleton=1 bsingle 11 systemd.unit=multi-user.target") == 0);
    CHECK(found("quiet -- single") == 0);  // for init, not for the kernel
    CHECK(found("init=/bin/sh") == 1);
    CHECK(found("init=/lib/systemd/systemd") == 0);
    CHECK(found("systemd.mask=nightlatch.service systemd.mask=systemd-logind.service") == 2);
    CHECK(found("sysrq_always_enabled reboot=hard") == 2);
}
