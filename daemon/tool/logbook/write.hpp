// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/logbook/logbook.hpp"

/// What the two units of the logbook run, and what a person writes into it. Each says in one line
/// what was written, or why it was not and what to do; to the journal where standard error is it.
/// 0: it is written, or was there already; 1: it is not.
namespace nightlatch::tool {

/// This boot's start, with the evidence on how the run before ended.
int write_started(const LogbookOptions& options);

/// This run's end, with the summary that the service keeps. It waits for the card no longer than
/// the unit may take.
int write_ended(const LogbookOptions& options);

/// That a person watched the supply go after the last run, with the facts that the verdict rests
/// on.
int write_witnessed(const LogbookOptions& options);

}  // namespace nightlatch::tool
