// SPDX-License-Identifier: MIT
#include "daemon/tool/check/options.hpp"

#include <CLI/CLI.hpp>

namespace nightlatch::tool {
namespace {

constexpr const char* check_footer = R"(
Examples:
  sudo nightlatch check                     the configuration that the service reads
  nightlatch check draft.toml               a draft, on any machine
  nightlatch check --json draft.toml        the same for a program
  nightlatch check --print draft.toml       every key with its value, defaults written out
  nightlatch check --root /mnt/image        the configuration inside an image

Privileges: none to read a configuration. As root it also sees polkit's folder of rules, and so
whether leave.inhibitors and the installed rules agree.

Exit status: 0 fine (perhaps with warnings), 1 something is wrong, 2 the file cannot be read.)";

}  // namespace

void add_check(CLI::App& app, CheckOptions& options) {
    CLI::App* check = app.add_subcommand("check", "Check a configuration and say what it means");
    check->add_option("FILE", options.file, "The configuration (default: the service's own)");
    CLI::Option* json = check->add_flag("--json", options.json, "Answer in JSON");
    check->add_flag("--print", options.print, "Print it with every key written out")
        ->excludes(json);
    check->add_option("--root", options.root, "Look below this folder, an image's")
        ->type_name("DIR");
    check->footer(check_footer);
}

}  // namespace nightlatch::tool
