// SPDX-License-Identifier: MIT
// Whether the service may do what the configuration asks of it.
#include "audit/service_rules.hpp"

#include "audit/lines_named.hpp"
#include "audit/say.hpp"
#include "base/account.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

Severity severity_of(Severity severity) {
    switch (severity) {
    case Severity::error:
        return Severity::error;
    case Severity::warning:
        return Severity::warning;
    case Severity::note:
        break;
    }
    return Severity::note;
}

Finding shown(const config::Diagnostic& diagnostic, const std::string& file) {
    return {severity_of(diagnostic.severity),
            file + ":" + std::to_string(diagnostic.place.line) + ":" +
                std::to_string(diagnostic.place.column),
            diagnostic.key + ": " + diagnostic.text,
            {},
            diagnostic.severity == Severity::note
                ? ""
                : "change that place in " + safe(file) + ", then see with `nightlatch check`"};
}

Judgement judge_configuration(const Scene& scene) {
    const Known<ConfigFacts>& config = scene.facts->config;
    if (!config && scene.facts->source == Source::files) {
        return CannotTell{"a configuration: none was given beside the device tree (--config FILE)"};
    }
    Found found;
    if (!config) {
        found.findings.push_back(
            {Severity::error,
             "",
             "there is no configuration, and without one the service does not start",
             {config.what_is_missing()},
             "write /etc/nightlatch/nightlatch.toml (`nightlatch lines --watch LINE…` prints its "
             "[button] section), then see with `nightlatch check`"});
        return found;
    }
    for (const config::Diagnostic& diagnostic : config->loaded.diagnostics) {
        found.findings.push_back(shown(diagnostic, config->file));
    }
    if (found.findings.empty()) {
        return Pass{config->file + " can be used as it is"};
    }
    return found;
}

Judgement judge_account(const Scene& scene) {
    const Known<bool>& exists = scene.facts->account.exists;
    if (!exists) {
        return CannotTell{exists.what_is_missing()};
    }
    Findings findings;
    if (!*exists) {
        findings
            .error("",
                   "there is no account " + service_account_name() +
                       ", so the service cannot be started")
            .remedy = "sudo systemd-sysusers nightlatch.conf\n"
                      "(the package has that file in /usr/lib/sysusers.d)";
    }
    return findings.or_pass("the account " + service_account_name() + " is there");
}

/// "the button is dead": of all its lines that are on that chip.
std::string without(const std::vector<OpenedLine>& lines, const std::string& chip) {
    std::string all;
    for (const OpenedLine& line : lines) {
        if (line.placed && line.placed->chip_name == chip) {
            all += (all.empty() ? "" : ", ") + line.without;
        }
    }
    return all;
}

void say_no_access(const ChipAccess& access, const std::string& effect, Findings& findings) {
    const std::string chip = "/dev/" + access.chip;
    Finding& finding =
        findings.error(chip, "the service's account may not open the chip, so " + effect);
    finding.evidence = {chip + " belongs to " + access.owner,
                        "the account is " + service_account_name() + ", in the group gpio"};
    finding.remedy =
        "install the udev rule 40-nightlatch.rules (the package has it in "
        "/usr/lib/udev/rules.d), which gives the chips to the group gpio:\n"
        "    SUBSYSTEM==\"gpio\", KERNEL==\"gpiochip*\", ACTION!=\"remove\", GROUP=\"gpio\", "
        "MODE=\"0660\"\n"
        "then\n"
        "sudo udevadm control --reload && sudo udevadm trigger --subsystem-match=gpio\n"
        "If the owner stays, a rule that sorts after ours sets another group: give the service "
        "that one with SupplementaryGroups= (sudo systemctl edit nightlatch)";
}

Judgement judge_chip_access(const Scene& scene) {
    const Known<std::vector<ChipAccess>>& chips = scene.facts->account.chips;
    if (!chips) {
        return CannotTell{chips.what_is_missing()};
    }
    const std::vector<OpenedLine> lines = opened_lines(scene);
    Findings findings;
    std::string seen;
    std::string missing;
    for (const OpenedLine& line : lines) {
        missing = line.placed ? missing : line.placed.what_is_missing();
    }
    for (const ChipAccess& access : *chips) {
        if (!access.may_open) {
            missing = access.may_open.what_is_missing();
        } else if (!*access.may_open) {
            say_no_access(access, without(lines, access.chip), findings);
        } else {
            seen +=
                (seen.empty() ? "/dev/" : ", /dev/") + access.chip + " belongs to " + access.owner;
        }
    }
    return missing.empty() ? findings.or_pass("the service's account may open each chip: " + seen)
                           : findings.or_else(CannotTell{missing});
}

bool asks_for_power_off(const core::Settings& settings) {
    const auto does = [](const auto& one) { return one.action == core::Action::power_off; };
    return std::any_of(settings.stages.begin(), settings.stages.end(), does) ||
           std::any_of(settings.alarms.begin(), settings.alarms.end(), does);
}

struct PolkitAnswer {
    std::string_view action;
    std::string_view when;
    const Known<std::string>* answer = nullptr;
};

Finding refusal(const std::vector<PolkitAnswer>& answers) {
    std::string when;
    std::vector<std::string> evidence;
    for (const PolkitAnswer& one : answers) {
        evidence.push_back("polkit on " + std::string(one.action) +
                           (*one.answer ? ": " + in_quotes(**one.answer)
                                        : ": unknown, " + one.answer->what_is_missing()));
        if (*one.answer && **one.answer != "yes") {
            when += (when.empty() ? "" : " and ") + std::string(one.when);
        }
    }
    return {Severity::error,
            "",
            "the service may not power off " + when +
                ": polkit does not answer yes, and a service has nobody to type a password",
            std::move(evidence),
            "install the rule: the package has 50-nightlatch.rules in /usr/share/polkit-1/rules.d; "
            "polkit takes it up by itself. If it is there, a rule that sorts before it answers "
            "first, or polkit does not run (package polkitd; without it use "
            "/usr/share/nightlatch/root.conf)"};
}

Judgement judge_power_off(const Scene& scene) {
    if (scene.settings != nullptr && !asks_for_power_off(scene.settings->core)) {
        return NotApplicable{"nothing in the configuration asks for a power-off"};
    }
    const Known<LoginFacts>& login = scene.facts->login;
    if (!login) {
        return CannotTell{login.what_is_missing()};
    }
    const std::vector<PolkitAnswer> answers{
        {"org.freedesktop.login1.power-off", "while nobody is logged in", &login->may_power_off},
        {"org.freedesktop.login1.power-off-multiple-sessions",
         "while somebody is logged in",
         &login->may_power_off_multiple_sessions}};
    const PolkitAnswer* unknown = nullptr;
    bool refused = false;
    for (const PolkitAnswer& one : answers) {
        if (!*one.answer) {
            unknown = &one;
        } else if (**one.answer != "yes") {
            refused = true;
        }
    }
    if (refused) {
        return Found{{refusal(answers)}};
    }
    if (unknown != nullptr) {
        return CannotTell{unknown->answer->what_is_missing()};
    }
    return Pass{"polkit lets the service power off, with somebody logged in or not"};
}

constexpr std::array<std::string_view, 1> account_needed{"service-account"};

constexpr std::array rules{
    Rule{"configuration",
         Group::service,
         "The configuration can be used and hides no mistake",
         "The service does not start with a configuration that has an error, and a button without "
         "it does nothing. Warnings are what can be acted on but was hardly meant so "
         "[nightlatch.toml(5)].",
         {},
         judge_configuration},
    Rule{"service-account",
         Group::service,
         "The service's account is there",
         "The service runs as an account of its own, so that a mistake in it cannot do more than "
         "ask for a power-off. A package makes it from a sysusers file [sysusers.d(5)].",
         {},
         judge_account},
    Rule{
        "service-chip-access",
        Group::service,
        "The service may open the chip of each of its lines",
        "A GPIO chip's device belongs to root alone unless a udev rule gives it to a group; a line "
        "is requested through the chip's device, opened for reading and writing "
        "[Linux Documentation/userspace-api/gpio/chardev.rst, udev(7)].",
        account_needed,
        judge_chip_access},
    Rule{"service-power-off",
         Group::service,
         "The service may ask for power-off, with somebody logged in or not",
         "The login manager asks polkit, under another action when somebody is logged in: a rule "
         "for one of the two works on the bench and fails in the field, or the other way round. "
         "A service has no session and nobody to type a password, so every answer but yes is a no "
         "[org.freedesktop.login1(5), polkit(8)].",
         account_needed,
         judge_power_off},
    Rule{"inhibitors-now",
         Group::service,
         "Nobody blocks a shutdown at this moment",
         "A program can hold a block lock on shutdown; the login manager then refuses a power-off "
         "or, told to, passes over it [systemd-inhibit(1), org.freedesktop.login1(5)].",
         {},
         judge_inhibitors},
    Rule{"delay-limit",
         Group::service,
         "A shutdown waits long enough for the button to be let go",
         "While the button is held it may feed the circuit that is to switch off. When a shutdown "
         "begins meanwhile the service holds it back by a delay lock, but the login manager waits "
         "only for InhibitDelayMaxSec=, 5 s if nothing is set, and as long for everybody else's "
         "delay locks [logind.conf(5)].",
         {},
         judge_delay_limit},
    Rule{"stop-timeouts",
         Group::service,
         "No service can hold the power-off up for longer than usual",
         "At shutdown every unit gets its stop time-out before it is killed, "
         "DefaultTimeoutStopSec= where it states none, 90 s if nothing is set; poweroff.target "
         "itself is forced after 30 minutes [systemd-system.conf(5), systemd.special(7)]. A person "
         "who sees no end pulls the plug.",
         {},
         judge_stop_timeouts},
};

}  // namespace

std::span<const Rule> service_rules() {
    return rules;
}

}  // namespace nightlatch::audit
