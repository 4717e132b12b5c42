// SPDX-License-Identifier: MIT
#include "daemon/tool/rehearse/rehearse.hpp"

#include "base/duration_text.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"
#include "picture/diagram.hpp"
#include "rehearsal/built_in_presses.hpp"
#include "rehearsal/capture_script.hpp"
#include "rehearsal/story.hpp"
#include "wave/vcd_writer.hpp"

#include <cstdio>
#include <filesystem>
#include <utility>

namespace nightlatch::tool {
namespace {

namespace fs = std::filesystem;

/// Below the prefix of the installation, wherever that is.
constexpr std::string_view installed_example = "share/nightlatch/examples/tide-logger.toml";

void tell_all(const config::Diagnostics& diagnostics, const std::string& file) {
    for (const config::Diagnostic& one : diagnostics) {
        tell(config::to_text(one, file));
    }
}

std::optional<config::Settings> load_settings(const std::string& file) {
    const auto text = sys::read_config_file(file, sys::TrustPolicy::anybody);
    if (!text) {
        complain(text.error().text);
        return std::nullopt;
    }
    config::Loaded loaded = config::load(*text);
    tell_all(loaded.diagnostics, file);
    return std::move(loaded.settings);
}

/// The named one; else the one in force; else, on a machine that has none yet, the example that is
/// installed beside this program.
std::string configuration_for(const RehearseOptions& options) {
    if (options.config || fs::exists(default_config)) {
        return options.config.value_or(default_config);
    }
    std::error_code error;
    const fs::path program = fs::read_symlink("/proc/self/exe", error);
    std::string example = program.parent_path().parent_path() / installed_example;
    if (error || !fs::exists(example, error)) {
        return default_config;
    }
    tell("there is no " + std::string(default_config) + ": this rehearses the example " + example);
    return example;
}

std::optional<rehearsal::PressScript> load_script(const std::string& file,
                                                  const config::Settings& settings) {
    const auto text = sys::read_config_file(file, sys::TrustPolicy::anybody);
    if (!text) {
        complain(text.error().text);
        return std::nullopt;
    }
    rehearsal::LoadedScript loaded = rehearsal::load_press_script(*text);
    tell_all(loaded.diagnostics, file);
    if (loaded.script) {
        const config::Diagnostics unknown = unknown_alarms(*loaded.script, settings.core);
        tell_all(unknown, file);
        if (!unknown.empty()) {
            return std::nullopt;
        }
    }
    return std::move(loaded.script);
}

/// The capture as what the button does; the rest of the script, if there is one, around it.
std::optional<rehearsal::PressScript> with_wave(const RehearseOptions& options,
                                                const config::Settings& settings,
                                                rehearsal::PressScript script) {
    const auto read = read_wave_file(*options.wave, options.of_wave);
    if (!read) {
        complain(read.error().text);
        return std::nullopt;
    }
    for (const wave::Problem& problem : read->problems) {
        tell(problem_text(problem, *options.wave));
    }
    if (!read->capture) {
        return std::nullopt;
    }
    auto joined = play_capture(*read->capture, settings.button.active_low, std::move(script));
    if (!joined) {
        complain(options.script.value_or("") + ": " + joined.error());
        return std::nullopt;
    }
    return std::move(*joined);
}

std::optional<rehearsal::PressScript> script_for(const RehearseOptions& options,
                                                 const config::Settings& settings) {
    if (options.script) {
        auto script = load_script(*options.script, settings);
        return script && options.wave ? with_wave(options, settings, std::move(*script))
                                      : std::move(script);
    }
    return options.wave ? with_wave(options, settings, {}) : rehearsal::built_in_presses(settings);
}

std::string script_name(const RehearseOptions& options) {
    if (options.script) {
        return *options.script + (options.wave ? " and " + wave_name(*options.wave) : "");
    }
    return options.wave ? wave_name(*options.wave) : "the built-in presses";
}

/// Captures and the built-in presses have no place for expectations; a press script has.
std::string nothing_expected(const RehearseOptions& options) {
    const std::string how = " (nightlatch rehearse --print-expect writes those that are met now)";
    if (options.script) {
        return *options.script + " has no [[expect]] tables: add some" + how;
    }
    return (options.wave ? wave_name(*options.wave) + " is only a capture: " : "") +
           "--expect needs a press script with [[expect]] tables" + how;
}

bool write_files(const RehearseOptions& options, const RehearseReport& report) {
    bool written = true;
    const auto write = [&](const std::optional<std::string>& file, const std::string& text) {
        if (const Outcome outcome = write_file(*file, text); !outcome) {
            complain(outcome.error().text);
            written = false;
        }
    };
    if (options.svg) {
        write(options.svg,
              picture::draw_svg(
                  report.rehearsal.timeline,
                  {rehearsal::story_of(report.rehearsal), report.config + ", " + report.script},
                  options.narrow ? picture::Width::narrow : picture::Width::wide));
    }
    if (options.vcd) {
        write(options.vcd, wave::write_vcd(report.rehearsal.timeline));
    }
    return written;
}

void print_answer(const RehearseOptions& options, const RehearseReport& report) {
    std::string text;
    if (options.json) {
        text = rehearse_json(report);
    } else if (options.print_expect) {
        text = expectations_of(report.rehearsal);
    } else if (options.expect) {
        text = expectations_text(report, style_of_output());
    } else {
        text = rehearse_text(report, style_of_output());
    }
    print(text);
}

}  // namespace

int run_rehearse(const RehearseOptions& options) {
    const std::string config = configuration_for(options);
    const auto settings = load_settings(config);
    if (!settings) {
        return no_answer;
    }
    auto script = script_for(options, *settings);
    if (!script) {
        return no_answer;
    }
    if (options.expect && script->expectations.empty()) {
        return complain(nothing_expected(options));
    }
    const std::vector<rehearsal::Expectation> expected = script->expectations;
    RehearseReport report;
    report.config = config;
    report.script = script_name(options);
    report.all = options.all;
    report.rehearsal = rehearsal::rehearse({*settings, std::move(*script), options.all});
    report.expectations = rehearsal::check_expectations(expected, report.rehearsal);
    print_answer(options, report);
    if (!write_files(options, report)) {
        return no_answer;
    }
    return rehearse_status(report);
}

}  // namespace nightlatch::tool
