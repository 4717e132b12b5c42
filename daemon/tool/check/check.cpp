// SPDX-License-Identifier: MIT
#include "daemon/tool/check/check.hpp"

#include "audit/against_circuit.hpp"
#include "base/text.hpp"
#include "circuit/corners.hpp"
#include "config/to_toml.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/tool/check/logbook_units.hpp"
#include "daemon/tool/check/override_rule.hpp"
#include "daemon/tool/check/summary.hpp"
#include "daemon/tool/circuit/config.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>
#include <cstdio>
#include <iterator>

namespace nightlatch::tool {
namespace {

using config::Diagnostic;

constexpr std::string_view rule_source = "/usr/share/nightlatch/nightlatch-override.rules";
constexpr std::string_view rule_target = "/etc/polkit-1/rules.d/";

/// Of the surroundings: there is no place in the text.
Diagnostic around(Severity severity, std::string key, std::string text) {
    return {severity, {0, 0}, std::move(key), std::move(text)};
}

/// The keys that say what to do about other programs' locks.
struct LockKeys {
    std::string overriding;  ///< the first that says "override"; empty: none does
    std::string respecting;  ///< the first that says "respect"; empty: none does
};

LockKeys lock_keys(const core::Settings& core) {
    LockKeys keys;
    const auto take = [&keys](core::Inhibitors inhibitors, const char* key) {
        std::string& first =
            inhibitors == core::Inhibitors::respect ? keys.respecting : keys.overriding;
        first = first.empty() ? key : first;
    };
    take(core.inhibitors, "leave.inhibitors");
    for (const core::Alarm& alarm : core.alarms) {
        if (alarm.action != core::Action::announce) {
            take(alarm.inhibitors, "alarm.inhibitors");
        }
    }
    return keys;
}

/// An old login manager ignores inhibitors silently for a service that is authorised to pass them,
/// and any passes none for one that is not: keys and rule must say the same.
std::optional<Diagnostic> compare_with_rule(const LockKeys& keys, const OverrideRule& rule) {
    const bool needed = !keys.overriding.empty();
    if (rule.state == OverrideRule::State::cannot_tell) {
        return around(Severity::note,
                      needed ? keys.overriding : keys.respecting,
                      "cannot see whether the override rule is installed: " + rule.where +
                          " may not be read; run this check as root");
    }
    const bool installed = rule.state == OverrideRule::State::installed;
    if (needed && !installed) {
        return around(Severity::error,
                      keys.overriding,
                      R"("override" needs the second polkit rule, which is not installed; )"
                      "either: cp " +
                          std::string(rule_source) + " " + std::string(rule_target) +
                          R"(, or set it to "respect")");
    }
    if (!needed && installed) {
        return around(
            Severity::error,
            keys.respecting,
            R"("respect", but )" + rule.where +
                " lets the service pass inhibitor locks, and an older login manager "
                R"(then ignores them silently; remove that file, or set it to "override")");
    }
    if (needed && !keys.respecting.empty()) {
        return around(
            Severity::note,
            keys.respecting,
            R"("respect" beside )" + keys.overriding +
                R"( = "override": the service looks for locks itself before it asks, but )"
                "a login manager older than systemd 257 would let it pass one that is "
                "taken at that very moment");
    }
    return std::nullopt;
}

/// [post_halt] against the parts of [circuit].
void compare_with_circuit(const config::PostHalt& post_halt,
                          const circuit::Circuit& circuit,
                          config::Diagnostics& found) {
    const double pulse = circuit::worst_pulse(circuit);
    for (const circuit::Finding& one : audit::against_circuit(post_halt, circuit, pulse)) {
        const bool fails = one.weight == circuit::Finding::Weight::failure;
        found.push_back(around(fails ? Severity::error : Severity::warning,
                               fails ? "post_halt.active" : "post_halt.pulse",
                               one.sentence + " Say " + one.remedy));
    }
}

std::size_t count(const CheckReport& report, Severity severity) {
    const auto is = [severity](const Diagnostic& one) { return one.severity == severity; };
    std::size_t number = 0;
    for (const auto* list : lists_of(report)) {
        number += static_cast<std::size_t>(std::count_if(list->begin(), list->end(), is));
    }
    return number;
}

std::string verdict(const CheckReport& report, const page::Style& style) {
    const std::size_t errors = count(report, Severity::error);
    const std::size_t warnings = count(report, Severity::warning);
    if (errors > 0) {
        return safe(report.file) + ": " +
               page::painted(style, counted(errors, "error"), page::Paint::bad) +
               (warnings > 0 ? ", " + counted(warnings, "warning") : "") +
               (errors == 1 ? ". Next: correct it and check again.\n"
                            : ". Next: correct the first one below and check again.\n");
    }
    const std::string next = report.file == default_config
                                 ? "systemctl reload nightlatch"
                                 : "install it as " + std::string(default_config);
    const std::string fine = page::painted(style, "is fine", page::Paint::good);
    const std::string doubts = counted(warnings, "warning");
    return safe(report.file) +
           (warnings > 0
                ? " can be used, with " + page::painted(style, doubts, page::Paint::doubtful) +
                      ". Next: read what is below, then "
                : " " + fine + ". Next: ") +
           next + ".\n";
}

std::string line_of(const Diagnostic& diagnostic, const std::string& file) {
    if (diagnostic.place.line > 0) {
        return config::to_text(diagnostic, file) + "\n";
    }
    return safe(file + ": " + std::string(text_of(diagnostic.severity)) + ": " + diagnostic.key +
                ": " + diagnostic.text) +
           "\n";
}

// By severity, then by list, then in order. NOLINTNEXTLINE(readability-function-size)
std::string found(const CheckReport& report) {
    std::string text;
    for (const Severity severity : {Severity::error, Severity::warning, Severity::note}) {
        for (const auto* list : lists_of(report)) {
            for (const Diagnostic& one : *list) {
                text += one.severity == severity ? line_of(one, report.file) : "";
            }
        }
    }
    return text;
}

}  // namespace

Result<CheckReport> check(const CheckOptions& options) {
    const bool in_use = !options.config && options.root.empty();
    CheckReport report;
    report.file = options.config.value_or(options.root + default_config);
    const auto text = options.config ? sys::read_config_file(report.file, sys::TrustPolicy::anybody)
                                     : read_service_config(options.root);
    if (!text) {
        return Unexpected{text.error()};
    }
    report.loaded = config::load(*text);
    if (const auto why = options.config ? sys::why_not_trusted(report.file)
                                        : why_service_refuses(options.root)) {
        // Of a draft elsewhere it is only worth knowing; the owner changes when it is installed.
        report.refused = in_use;
        report.around.push_back(around(in_use ? Severity::error : Severity::warning,
                                       "file",
                                       "as it stands the service would refuse it: " + *why));
    }
    if (CircuitFile circuit = read_circuit_file(*text); circuit.there) {
        report.circuit = std::move(circuit.of_values);
        if (report.loaded.settings && circuit.circuit && circuit.circuit->circuit) {
            compare_with_circuit(
                report.loaded.settings->post_halt, *circuit.circuit->circuit, report.around);
        }
    }
    if (report.loaded.settings) {
        if (auto mismatch = compare_with_rule(lock_keys(report.loaded.settings->core),
                                              find_override_rule(options.root))) {
            report.around.push_back(std::move(*mismatch));
        }
        LogbookReach reach = find_logbook_reach(report.loaded.settings->logbook, options.root);
        std::move(reach.found.begin(), reach.found.end(), std::back_inserter(report.around));
        report.install = std::move(reach.install);
    }
    return report;
}

std::string check_text(const CheckReport& report, const page::Style& style) {
    const std::string list = found(report);
    std::string text = verdict(report, style);
    if (!list.empty()) {
        text += "\n" + list;
    }
    text += report.install.empty() ? "" : "\n" + safe_lines(report.install);
    if (check_status(report) == 0) {
        text += "\n" + summary(*report.loaded.settings);
    }
    return text;
}

int check_status(const CheckReport& report) {
    if (report.refused || config::has_errors(report.loaded.diagnostics) ||
        config::has_errors(report.circuit)) {
        return no_answer;
    }
    return config::has_errors(report.around) ? 1 : 0;
}

int run_check(const CheckOptions& options) {
    const auto report = check(options);
    if (!report) {
        return complain(report.error().text);
    }
    if (options.json) {
        print(check_json(*report));
    } else if (options.print) {
        // Only the configuration on standard output, so that it can be kept in a file.
        std::fputs((verdict(*report, {}) + found(*report) + safe_lines(report->install)).c_str(),
                   stderr);
        if (check_status(*report) == 0) {
            print(config::to_toml(*report->loaded.settings));
        }
    } else {
        print(check_text(*report, style_of_output()));
    }
    return check_status(*report);
}

}  // namespace nightlatch::tool
