// SPDX-License-Identifier: MIT
#include "daemon/tool/audit/audit.hpp"

namespace nightlatch::tool {
namespace {

constexpr const char* audit_footer = R"(
Examples:
  sudo nightlatch audit                     this unit: everything that can be seen
  nightlatch audit --root /mnt/image        a mounted image; no live facts
  nightlatch audit --tree board.dtb --overlay ours.dtbo --config draft.toml
                                            files alone, on any machine
  nightlatch audit --root /mnt/image --tree /mnt/image/boot/board.dtb --kernel 6.12.41
                                            an image with its tree: a gate for its build
  nightlatch audit --explain post-halt-pulse    why this rule is there
  nightlatch audit --json | jq .verdict     for a program
  sudo nightlatch audit --save unit.facts       before an upgrade; after it:
  sudo nightlatch audit --against unit.facts    what changed, and whether it matters

Privileges: none. Without root some things cannot be seen (what a pin's function is, the kernel's
log, polkit's answer); the report says what could not be seen, and never counts it as right.

It only reads. It requests one line, the configured button's, for a moment, and only when nobody
holds it and its pin is known to be GPIO.

Exit status: 0 nothing to do (with --only: by those rules alone), 1 something was found, or has
changed, 2 the command line or the configuration is wrong, a file that was named cannot be read, or
the answer could not be written.)";

}  // namespace

void describe_audit(Options& options, AuditOptions& into) {
    options.config(into.config)
        .folder("--root DIR", into.root, "Audit the image mounted below this folder")
        .text("--tree FILE.dtb", into.tree, "Audit this device-tree blob, no running board")
        .texts("--overlay FILE.dtbo", into.overlays, "Overlays applied to --tree, in this order")
        .needs("--tree")
        .text("--kernel VERSION", into.kernel, "The kernel that will boot, for --root and --tree")
        .text(
            "--kernel-config FILE", into.kernel_config, "That kernel's configuration, plain or .gz")
        .texts("--only RULE", into.choice.only, "Only these rules")
        .texts("--skip RULE", into.choice.skip, "Not these rules")
        .flag("--all", into.all, "Also what passed and what does not apply")
        .flag("--json", into.json, "Answer in JSON")
        .text("--save FILE", into.save, "Keep the facts that the verdict rests on in this file")
        .text("--against FILE", into.against, "Say what has changed since they were kept there")
        .excludes("--save")
        .text("--explain RULE", into.explain, "Say what a rule is for, and do nothing else")
        .excludes("--json")
        .flag("--rules", into.rules, "List the rules, and do nothing else")
        .excludes("--json")
        .footer(audit_footer);
}

}  // namespace nightlatch::tool
