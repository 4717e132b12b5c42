// SPDX-License-Identifier: MIT
// Which kernel comes next, how it is started, and that a halt is not a power-off.
#include "audit/say.hpp"
#include "audit/system_rules.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

/// "6.1.0-38-arm64" is 6, 1, 0, 38: up to the first part that is not a number.
std::vector<unsigned> numbers_of(std::string_view release) {
    std::vector<unsigned> numbers;
    while (!release.empty()) {
        const std::size_t end = std::min(release.find_first_of(".-+"), release.size());
        const std::optional<unsigned> number = number_in(release.substr(0, end));
        if (!number) {
            break;
        }
        numbers.push_back(*number);
        release.remove_prefix(end);
        if (release.starts_with('+')) {
            break;
        }
        release.remove_prefix(std::min<std::size_t>(1, release.size()));
    }
    return numbers;
}

/// "arm64" of "6.1.0-38-arm64": kernels of several flavours are installed side by side.
std::string_view flavour_of(std::string_view release) {
    const std::size_t at = release.rfind('-');
    return at == std::string_view::npos ? "" : release.substr(at + 1);
}

bool is_newer(const std::string& other, const std::string& running) {
    return flavour_of(other) == flavour_of(running) && numbers_of(other) > numbers_of(running);
}

/// The newest that would follow; empty for none.
std::string newest_of(const std::vector<std::string>& installed, const std::string& running) {
    std::string newest;
    for (const std::string& release : installed) {
        if (is_newer(release, newest.empty() ? running : newest)) {
            newest = release;
        }
    }
    return newest;
}

/// A word of the command line that bears on the button or on leaving.
struct Argument {
    std::string_view name;   ///< before '='
    std::string_view value;  ///< what its value has in it; "" for any, or for none
    Severity severity{};
    std::string_view means;
};

constexpr std::string_view no_service = "the boot ends where the service does not run: the button "
                                        "does nothing, and the supply stays on";

// linux Documentation/admin-guide/kernel-parameters.txt, systemd(1), kernel-command-line(7).
constexpr std::array arguments{
    Argument{"systemd.unit", "rescue", Severity::warning, no_service},
    Argument{"systemd.unit", "emergency", Severity::warning, no_service},
    Argument{"emergency", "", Severity::warning, no_service},
    Argument{"-b", "", Severity::warning, no_service},
    Argument{"rescue", "", Severity::warning, no_service},
    Argument{"single", "", Severity::warning, no_service},
    Argument{"s", "", Severity::warning, no_service},
    Argument{"S", "", Severity::warning, no_service},
    Argument{"1", "", Severity::warning, no_service},
    Argument{"init", "sh", Severity::warning, no_service},
    Argument{"systemd.mask",
             "nightlatch.service",
             Severity::warning,
             "the service is masked for this boot: the button does nothing"},
    Argument{"systemd.mask",
             "logind",
             Severity::warning,
             "the login manager is masked for this boot: nobody takes a request for power-off"},
    Argument{"systemd.mask",
             "dbus",
             Severity::warning,
             "the message bus is masked for this boot: nobody takes a request for power-off"},
    Argument{"sysrq_always_enabled",
             "",
             Severity::note,
             "SysRq+O switches off at once, whatever kernel.sysrq says: past the wait for the "
             "button"},
    Argument{"reboot", "", Severity::note, "it says how a restart is done; a power-off ignores it"},
};

bool is_meant(const Argument& argument, std::string_view word) {
    const std::size_t equals = std::min(word.find('='), word.size());
    return word.substr(0, equals) == argument.name &&
           (argument.value.empty() ||
            word.substr(equals).find(argument.value) != std::string_view::npos);
}

std::vector<std::string_view> words_of(std::string_view line) {
    std::vector<std::string_view> words;
    while (!(line = trimmed(line)).empty()) {
        const std::size_t end = std::min(line.find_first_of(white_space), line.size());
        words.push_back(line.substr(0, end));
        line.remove_prefix(end);
    }
    return words;
}

void judge_word(std::string_view word, Findings& findings) {
    const auto* const it = std::find_if(arguments.begin(),
                                        arguments.end(),
                                        [&](const Argument& one) { return is_meant(one, word); });
    if (it == arguments.end()) {
        return;
    }
    const std::string said =
        in_quotes(word) + " on the kernel's command line: " + std::string(it->means) + ".";
    Finding& finding = it->severity == Severity::warning ? findings.warning("/proc/cmdline", said)
                                                         : findings.note("/proc/cmdline", said);
    finding.evidence = {"/proc/cmdline has " + in_quotes(word)};
    finding.remedy = "Remove it from the boot loader's text, unless it is intended.";
}

}  // namespace

Judgement judge_kernel_newest(const Scene& scene) {
    const Known<std::vector<std::string>>& installed = scene.facts->booted.installed;
    const Known<KernelVersion>& kernel = scene.facts->kernel;
    if (!installed || !kernel) {
        return CannotTell{installed ? kernel.what_is_missing() : installed.what_is_missing()};
    }
    if (installed->empty()) {
        return NotApplicable{"no kernel's modules are installed: there is none to compare with"};
    }
    Findings findings;
    const std::string newest = newest_of(*installed, kernel->release);
    const bool is_there =
        std::find(installed->begin(), installed->end(), kernel->release) != installed->end();
    if (!newest.empty() || !is_there) {
        Finding& finding = findings.warning(
            "/usr/lib/modules",
            newest.empty()
                ? "The running kernel is no longer installed: the next boot has another, with "
                  "another driver and device tree, which this audit has not seen."
                : "A newer kernel is installed than the one that runs: the next boot may have "
                  "another driver and another device tree, which this audit has not seen.");
        finding.evidence = {"Linux " + safe(kernel->release) + " runs",
                            "installed: " + safe(newest.empty() ? installed->back() : newest)};
        finding.remedy = "Reboot, then audit again; nightlatch audit --against FILE says what the "
                         "other kernel changes.";
    }
    return findings.or_pass("Linux " + safe(kernel->release) +
                            " runs, and none newer is installed");
}

Judgement judge_kernel_arguments(const Scene& scene) {
    const Known<std::string>& line = scene.facts->booted.arguments;
    if (!line) {
        return CannotTell{line.what_is_missing()};
    }
    Findings findings;
    for (const std::string_view word : words_of(*line)) {
        if (word == "--") {
            break;  // what follows is init's
        }
        judge_word(word, findings);
    }
    return findings.or_pass("nothing on the kernel's command line stands in the button's way");
}

Judgement judge_halt_stays_on(const Scene& scene) {
    const Known<LoginFacts>& login = scene.facts->login;
    if (!login || !login->handle_power_key || !login->handle_power_key_long_press) {
        return CannotTell{!login ? login.what_is_missing()
                          : !login->handle_power_key
                              ? login->handle_power_key.what_is_missing()
                              : login->handle_power_key_long_press.what_is_missing()};
    }
    Findings findings;
    const auto look = [&](const std::string& does, const std::string& key) {
        if (does != "halt") {
            return;
        }
        Finding& finding =
            findings.warning("logind.conf: " + key,
                             "A power key halts: the system stops with the supply on, and only the "
                             "plug ends that. After a halt the kernel calls no way off.");
        finding.evidence = {key + "=halt"};
        finding.remedy = "Set " + key + "=ignore in /etc/systemd/logind.conf.d.";
    };
    look(*login->handle_power_key, "HandlePowerKey");
    look(*login->handle_power_key_long_press, "HandlePowerKeyLongPress");
    return findings.or_pass("no power key ends in a halt");
}

}  // namespace nightlatch::audit
