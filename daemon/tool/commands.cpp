// SPDX-License-Identifier: MIT
#include "daemon/tool/commands.hpp"

#include "daemon/tool/audit/audit.hpp"
#include "daemon/tool/bounce/bounce.hpp"
#include "daemon/tool/call_off/call_off.hpp"
#include "daemon/tool/check/check.hpp"
#include "daemon/tool/circuit/circuit.hpp"
#include "daemon/tool/follow/follow.hpp"
#include "daemon/tool/lines/watch.hpp"
#include "daemon/tool/logbook/logbook.hpp"
#include "daemon/tool/rehearse/rehearse.hpp"
#include "daemon/tool/status/status.hpp"

namespace nightlatch::tool {

std::vector<Command> commands() {
    return {
        command("check", "Check a configuration and say what it means", describe_check, run_check),
        command("lines",
                "List GPIO lines: who holds each, which suit a button, which one your button is on",
                describe_lines,
                run_lines_command),
        command("bounce",
                "Measure how much a button bounces, and what debounce it needs",
                describe_bounce,
                run_bounce),
        command("audit",
                "Will the supply be released, and does anything race for power-off?",
                describe_audit,
                run_audit),
        command("circuit",
                "Will the supply switch off, stay off and come on again, even in the worst case?",
                describe_circuit,
                run_circuit),
        command("rehearse",
                "Play presses on a configuration and see what it does",
                describe_rehearse,
                run_rehearse),
        command("status",
                "The state of the service, and what to do next if something is wrong",
                describe_status,
                run_status),
        command("follow",
                "What the button does, as it happens: on a screen, as JSON, or by a program",
                describe_follow,
                run_follow),
        command("call-off",
                "Call off a countdown, or a request that has not been sent yet",
                describe_call_off,
                run_call_off),
        command("logbook",
                "How the last runs ended, and how long going down took",
                describe_logbook,
                run_logbook),
    };
}

}  // namespace nightlatch::tool
