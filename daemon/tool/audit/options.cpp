// SPDX-License-Identifier: MIT
#include "daemon/tool/audit/options.hpp"

#include <CLI/CLI.hpp>

namespace nightlatch::tool {
namespace {

constexpr const char* audit_footer = R"(
Examples:
  sudo nightlatch audit                     this unit: everything that can be seen
  nightlatch audit --root /mnt/image        a mounted image; no live facts
  nightlatch audit --tree board.dtb --overlay ours.dtbo --config draft.toml
                                            files alone, on any machine
  nightlatch audit --explain post-halt-pulse    why this rule is there
  nightlatch audit --json | jq .verdict     for a program

Privileges: none. Without root some things cannot be seen (what a pin's function is, the kernel's
log, polkit's answer); what could not be seen is said, and never counts as right.

It only reads. It asks for one line, the configured button's, for a moment, and only when nobody
holds it and its pin is known to be GPIO.

Exit status: 0 nothing to do, 1 something was found, 2 the command line is wrong or a file that was
named cannot be read.)";

}  // namespace

void add_audit(CLI::App& app, AuditOptions& options) {
    CLI::App* audit = app.add_subcommand(
        "audit", "Will the supply be released, and does anything race for power-off?");
    audit->add_option("--config", options.config, "The configuration (default: the service's own)")
        ->type_name("FILE");
    CLI::Option* root =
        audit->add_option("--root", options.root, "Audit the image mounted below this folder")
            ->type_name("DIR");
    CLI::Option* tree =
        audit->add_option("--tree", options.tree, "Audit this device-tree blob, no running board")
            ->type_name("FILE.dtb");
    audit->add_option("--overlay", options.overlays, "Overlays applied to --tree, in this order")
        ->type_name("FILE.dtbo")
        ->needs(tree);
    root->excludes(tree);
    audit->add_option("--only", options.choice.only, "Only these rules")->type_name("RULE");
    audit->add_option("--skip", options.choice.skip, "Not these rules")->type_name("RULE");
    audit->add_flag("--all", options.all, "Also what passed and what does not apply");
    CLI::Option* json = audit->add_flag("--json", options.json, "Answer in JSON");
    audit->add_option("--explain", options.explain, "Say what a rule is for, and do nothing else")
        ->type_name("RULE")
        ->excludes(json);
    audit->add_flag("--rules", options.rules, "List the rules, and do nothing else")
        ->excludes(json);
    audit->footer(audit_footer);
}

}  // namespace nightlatch::tool
