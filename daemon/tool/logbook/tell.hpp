// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "logbook/book.hpp"
#include "supervisor/ports/journal.hpp"

#include <string_view>

/// What the journal is told of the logbook, for whoever collects it from there: messages and their
/// fields as nightlatch-fleet(7) has them.
namespace nightlatch::tool {

/// This boot's run, and how the run before it ended: a notice, or a warning when that was lost or
/// its end was not seen. Nothing of a book that has no run of this boot.
void tell_started(ports::Journal& journal, const logbook::Book& book, std::string_view boot);

/// `run`: this boot's, with its end.
void tell_ended(ports::Journal& journal, const logbook::Run& run);

/// `what`: "the start of this run"; with what to do about it.
void tell_failed(ports::Journal& journal, std::string_view what, const Error& error);

}  // namespace nightlatch::tool
