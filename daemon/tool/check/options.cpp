// SPDX-License-Identifier: MIT
#include "daemon/tool/check/check.hpp"

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

Exit status: 0 fine (perhaps with warnings), 1 only what surrounds it is wrong (the file's
owner, a polkit rule), 2 it is wrong itself or cannot be read, the command line is wrong, or the
answer could not be written.)";

}  // namespace

void describe_check(Options& options, CheckOptions& into) {
    options.config_or_argument(into.config, "The configuration (default: the service's own)")
        .flag("--json", into.json, "Answer in JSON")
        .flag("--print", into.print, "Print it with every key written out")
        .excludes("--json")
        .folder("--root DIR", into.root, "Look below this folder, as in a mounted image")
        .footer(check_footer);
}

}  // namespace nightlatch::tool
