// SPDX-License-Identifier: MIT
#include "daemon/tool/status/status.hpp"

namespace nightlatch::tool {
namespace {

constexpr const char* status_footer = R"(
Examples:
  nightlatch status                         one screen: the cue, what is in force, what to do next
  nightlatch status --json                  the same for a program
  nightlatch status >/dev/null || echo "the button needs care"
  nightlatch status --prometheus --output /var/lib/prometheus/node-exporter/nightlatch.prom

Privileges: none. To see who holds the button's line you must be allowed to open the chip's device,
often as a member of a group.

Exit status: 0 the service runs and nothing is wrong; 1 it does not run, or something is wrong; 2
the command line is wrong, or the answer could not be written.)";

}  // namespace

void describe_status(Options& options, StatusOptions& into) {
    options.config(into.config, "The configuration to look at while the service does not run")
        .flag("--json", into.json, "Answer in JSON")
        .flag("--prometheus", into.prometheus, "Answer as metrics in Prometheus' text format")
        .excludes("--json")
        .text("--output FILE", into.output, "Write a fresh file and put it in this one's place")
        .needs("--prometheus")
        .footer(status_footer);
}

}  // namespace nightlatch::tool
