// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "daemon/service/config_on_disk.hpp"
#include "daemon/service/options.hpp"
#include "daemon/service/service.hpp"
#include "daemon/service/simulation.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/sys/journal.hpp"
#include "rehearsal/press_script.hpp"

#include <cstdio>

using namespace nightlatch;

namespace {

constexpr int usage_error = 2;

std::optional<rehearsal::PressScript> load_script(const std::string& file,
                                                  const config::Settings& settings) {
    if (file == "-") {
        return rehearsal::PressScript{};
    }
    const auto text = sys::read_config_file(file, sys::TrustPolicy::anybody);
    if (!text) {
        std::fprintf(stderr, "nightlatchd: %s\n", safe(text.error().text).c_str());
        return std::nullopt;
    }
    auto loaded = rehearsal::load_press_script(*text);
    if (loaded.script) {
        loaded.diagnostics = unknown_alarms(*loaded.script, settings.core);
    }
    for (const config::Diagnostic& diagnostic : loaded.diagnostics) {
        std::fprintf(stderr, "%s\n", config::to_text(diagnostic, file).c_str());
    }
    return has_errors(loaded.diagnostics) ? std::nullopt : std::move(loaded.script);
}

int simulate(const service::Options& options) {
    auto config = service::read_config(options.config, sys::TrustPolicy::anybody);
    sys::Journal journal;
    service::tell(journal, config);
    if (!config.settings) {
        return usage_error;
    }
    auto script = load_script(*options.simulated, *config.settings);
    if (!script) {
        return usage_error;
    }
    return service::run_simulation(options, std::move(*config.settings), std::move(*script));
}

}  // namespace

int main(int argc, char** argv) {
    const auto options = service::parse_options(argc, argv);
    if (!options) {
        std::fprintf(stderr, "nightlatchd: %s\n", safe(options.error().text).c_str());
        return usage_error;
    }
    if (options->help) {
        std::fputs(service::help_text(), stdout);
        return 0;
    }
    if (options->version) {
        std::puts("nightlatchd " NIGHTLATCH_VERSION);
        return 0;
    }
    return options->simulated ? simulate(*options) : service::run_service(*options);
}
