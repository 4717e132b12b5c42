// SPDX-License-Identifier: MIT
#include "daemon/tool/audit/options.hpp"
#include "daemon/tool/bounce/options.hpp"
#include "daemon/tool/check/options.hpp"
#include "daemon/tool/circuit/options.hpp"
#include "daemon/tool/lines/options.hpp"
#include "daemon/tool/rehearse/options.hpp"

#include <cstdio>

#include <CLI/CLI.hpp>

namespace {

constexpr int usage_error = 2;

constexpr const char* footer = R"(
Exit status: 0 fine, 1 what the command exists to report, 2 usage or configuration error.
See nightlatch(1), nightlatch-audit(1), nightlatch-bounce(1), nightlatch-circuit(1),
nightlatch-rehearse(1), nightlatch.toml(5), nightlatchd(8).)";

/// The library answers --help and --version by the same way as errors; its own exit statuses are
/// not ours.
int answered(const CLI::App& app, const CLI::ParseError& said) {
    return app.exit(said) == 0 ? 0 : usage_error;
}

}  // namespace

// What CLI11 throws beyond a parse error is a mistake of ours, and ends the program.
// NOLINTNEXTLINE(bugprone-exception-escape)
int main(int argc, char** argv) {
    CLI::App app("Tools around the shutdown supervisor nightlatchd", "nightlatch");
    app.set_version_flag("--version", "nightlatch " NIGHTLATCH_VERSION);
    app.footer(footer);
    app.require_subcommand(0, 1);
    nightlatch::tool::CheckOptions check;
    nightlatch::tool::add_check(app, check);
    nightlatch::tool::LinesCommand lines;
    nightlatch::tool::add_lines(app, lines);
    nightlatch::tool::BounceCommand bounce;
    nightlatch::tool::add_bounce(app, bounce);
    nightlatch::tool::AuditOptions audit;
    nightlatch::tool::add_audit(app, audit);
    nightlatch::tool::CircuitOptions circuit;
    nightlatch::tool::add_circuit(app, circuit);
    nightlatch::tool::RehearseOptions rehearse;
    nightlatch::tool::add_rehearse(app, rehearse);
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& said) {
        return answered(app, said);
    }
    if (app.get_subcommands().empty()) {
        std::fputs(app.help().c_str(), stderr);
        return usage_error;
    }
    if (app.got_subcommand("lines")) {
        return nightlatch::tool::run_lines(lines);
    }
    if (app.got_subcommand("bounce")) {
        return nightlatch::tool::run_bounce(bounce);
    }
    if (app.got_subcommand("audit")) {
        return nightlatch::tool::run_audit(audit);
    }
    if (app.got_subcommand("circuit")) {
        return nightlatch::tool::run_circuit(circuit);
    }
    if (app.got_subcommand("rehearse")) {
        return nightlatch::tool::run_rehearse(rehearse);
    }
    return nightlatch::tool::run_check(check);
}
