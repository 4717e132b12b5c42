// SPDX-License-Identifier: MIT
// Resets that come unbidden, and power-offs that nobody waits with.
#include "audit/say.hpp"
#include "audit/system_rules.hpp"
#include "base/duration_text.hpp"

namespace nightlatch::audit {
namespace {

using namespace std::chrono_literals;

/// From the first active level to the end of the driver's wait for the cut
/// [linux drivers/power/reset/gpio-poweroff.c].
Duration sequence_of(const devicetree::PostHaltNode& node) {
    return std::chrono::milliseconds(std::uint64_t{node.active_ms} + node.inactive_ms +
                                     node.timeout_ms);
}

/// What does not run, or can be stopped, systemd leaves stopped for a power-off: RebootWatchdogSec=
/// is for reboots alone [systemd src/core/main.c, become_shutdown].
bool is_stopped_at_off(const Watchdog& dog) {
    return (dog.active && !*dog.active) || (dog.nowayout && !*dog.nowayout);
}

std::string what_is_missing(const Watchdog& dog) {
    if (!dog.active) {
        return dog.active.what_is_missing();
    }
    if (!dog.nowayout) {
        return dog.nowayout.what_is_missing();
    }
    return dog.timeout ? "" : dog.timeout.what_is_missing();
}

void judge_armed(const Watchdog& dog, Duration sequence, Findings& findings) {
    // The helper in system-shutdown waits so long for the button, after nobody feeds the dog.
    constexpr Duration helper = 20s;
    const bool certain = *dog.timeout <= sequence;
    if (!certain && *dog.timeout > sequence + helper) {
        return;
    }
    std::string sentence =
        "once started it cannot be stopped, and nobody feeds it after the services have stopped: "
        "it resets the board " +
        to_text(*dog.timeout) + " later, " +
        (certain ? "before the post-halt line's sequence is over, and the board starts again "
                   "instead of staying off"
                 : "which the wait for a button that is still held and the post-halt line's "
                   "sequence can outlast: the board then starts again instead of staying off");
    Finding& finding = certain ? findings.error(dog.name, std::move(sentence))
                               : findings.warning(dog.name, std::move(sentence));
    const std::string folder = "/sys/class/watchdog/" + dog.name;
    finding.evidence = {folder + "/identity = " + dog.identity,
                        folder + "/nowayout = 1",
                        folder + "/state = active",
                        folder + "/timeout = " + to_text(*dog.timeout),
                        "sequence = " + to_text(sequence) + ", wait for the button = 20 s at most"};
    finding.remedy =
        "let it be stopped: without nowayout=1 among its module's options (or "
        "CONFIG_WATCHDOG_NOWAYOUT in the kernel); or give it more time, where the hardware can: "
        "RuntimeWatchdogSec=" +
        std::to_string(std::chrono::ceil<std::chrono::seconds>(sequence + helper).count() + 1) +
        " in /etc/systemd/system.conf.d/";
}

/// The watchdog that would reset a hung system: the name of one that is fed; "" when there is none.
Known<std::string> fed_watchdog(const Facts& facts) {
    const Known<std::vector<Watchdog>>& dogs = facts.watchdogs;
    if (!dogs) {
        return Known<std::string>::missing(dogs.what_is_missing());
    }
    std::string missing;
    for (const Watchdog& dog : *dogs) {
        if (dog.active && *dog.active) {
            return dog.name;
        }
        if (!dog.active) {
            missing = dog.active.what_is_missing();
        }
    }
    return missing.empty() ? Known<std::string>(std::string())
                           : Known<std::string>::missing(missing);
}

std::string watchdog_setting(const Known<std::optional<Duration>>& setting) {
    if (!setting) {
        return "RuntimeWatchdogSec is unknown: " + setting.what_is_missing();
    }
    return "RuntimeWatchdogSec = " + (*setting ? to_text(**setting) : "off");
}

std::string against_hanging(bool has_watchdog, bool panic_stays) {
    constexpr std::string_view feed =
        "/etc/systemd/system.conf.d/watchdog.conf:\n[Manager]\nRuntimeWatchdogSec=15s";
    constexpr std::string_view restart =
        "/etc/sysctl.d/60-panic.conf:\nkernel.panic = 10\nkernel.panic_on_oops = 1";
    if (has_watchdog) {
        return std::string(feed) + (panic_stays ? "\n" + std::string(restart) : "");
    }
    return panic_stays
               ? std::string(restart)
               : "use a watchdog: the hardware's, with its driver loaded, or an external one";
}

}  // namespace

Judgement judge_watchdog_at_off(const Scene& scene) {
    const Known<std::vector<Watchdog>>& dogs = scene.facts->watchdogs;
    if (!dogs) {
        return CannotTell{dogs.what_is_missing()};
    }
    if (dogs->empty()) {
        return NotApplicable{"the kernel has no watchdog device"};
    }
    if (scene.node == nullptr) {
        return NotApplicable{"without the one post-halt node there is no sequence to outlast"};
    }
    const Duration sequence = sequence_of(*scene.node);
    Findings findings;
    std::string missing;
    for (const Watchdog& dog : *dogs) {
        if (is_stopped_at_off(dog)) {
            continue;
        }
        const std::string unknown = what_is_missing(dog);
        if (unknown.empty()) {
            judge_armed(dog, sequence, findings);
        } else {
            missing = unknown;
        }
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass("no watchdog is left running for less than the power-off needs");
}

Judgement judge_hung_system(const Scene& scene) {
    const Facts& facts = *scene.facts;
    const Known<std::string> fed = fed_watchdog(facts);
    if (!fed) {
        return CannotTell{fed.what_is_missing()};
    }
    if (!fed->empty()) {
        return Pass{*fed + " runs, and resets a system that hangs"};
    }
    const Known<int>& panic = facts.hang.panic_seconds;
    if (!panic) {
        return CannotTell{panic.what_is_missing()};
    }
    Findings findings;
    Finding& finding =
        *panic == 0
            ? findings.warning("",
                               "a system that hangs or panics stays so: the button is dead then, "
                               "and the way off is to take the supply away")
            : findings.note("",
                            "a panic restarts the system, but one that hangs without a panic stays "
                            "so: the button is dead then");
    finding.evidence = {facts.watchdogs->empty() ? "no device in /sys/class/watchdog"
                                                 : "no device of /sys/class/watchdog is active",
                        watchdog_setting(facts.manager.runtime_watchdog),
                        "kernel.panic = " + std::to_string(*panic)};
    finding.remedy = against_hanging(!facts.watchdogs->empty(), *panic == 0);
    return findings.or_else(CannotTell{});
}

Judgement judge_forced_power_off(const Scene& scene) {
    const Known<int>& sysrq = scene.facts->hang.sysrq;
    if (!sysrq) {
        return CannotTell{sysrq.what_is_missing()};
    }
    constexpr int all = 1;
    constexpr unsigned reboot_and_power_off = 128;
    constexpr unsigned without = ~(reboot_and_power_off | 1U);
    const std::string value = "kernel.sysrq = " + std::to_string(*sysrq);
    Findings findings;
    if (*sysrq == all || (static_cast<unsigned>(*sysrq) & reboot_and_power_off) != 0) {
        Finding& finding = findings.note(
            "",
            "the key combination SysRq+O switches off at once: file systems are not closed, and "
            "nothing waits for the button to be let go; `poweroff -ff` and /proc/sysrq-trigger, "
            "which only root has, do the same whatever is set here");
        finding.evidence = {value + " (1: everything, 128: reboot and power-off)"};
        finding.remedy =
            "where a keyboard or a serial console can be reached, in "
            "/etc/sysctl.d/60-sysrq.conf:\nkernel.sysrq = " +
            (*sysrq == all ? "48" : std::to_string(static_cast<unsigned>(*sysrq) & without));
    }
    return findings.or_pass(value + " lets no key combination switch off; `poweroff -ff`, which "
                                    "only root has, still goes past every wait for the button");
}

}  // namespace nightlatch::audit
