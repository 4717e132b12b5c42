// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/tell.hpp"

#include "base/account.hpp"
#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "daemon/tool/logbook/pages.hpp"
#include "logbook/overview.hpp"

#include <cerrno>
#include <vector>

namespace nightlatch::tool {
namespace {

using logbook::End;
using logbook::Run;
using ports::Field;
using ports::Message;
using ports::Priority;

/// In whole microseconds, where it is known.
void add_took(std::vector<Field>& fields, const Run& run) {
    if (const std::optional<Duration> time = run.going_down()) {
        const auto count = std::chrono::duration_cast<std::chrono::microseconds>(*time).count();
        fields.push_back({"TOOK_USEC", std::to_string(count)});
    }
}

Priority loudness_of(End end) {
    const bool in_doubt = end == End::left || end == End::lost || end == End::lost_last_words;
    return in_doubt ? Priority::warning : Priority::notice;
}

std::string remedy_of(const Error& error) {
    switch (error.number) {
    case ENOSPC:
    case EDQUOT:
        return "make room on its file system";
    case EROFS:
        return "its file system is read-only: if it is to stay so, put the logbook elsewhere, with "
               "path under [logbook]";
    case EACCES:
    case EPERM:
        return "its folder and files must be the account " + service_account_name() + "'s";
    case ENOENT:
    case ENOTDIR:
        return "its folder must be there, and be the account " + service_account_name() + "'s";
    default:
        return "journalctl -k says whether its disk has trouble";
    }
}

}  // namespace

void tell_started(ports::Journal& journal, const logbook::Book& book, std::string_view boot) {
    const Run* const now = book.of_boot(boot);
    if (now == nullptr) {
        return;
    }
    const std::string number = std::to_string(now->id.number);
    const Run* const before = book.before(boot);
    if (before == nullptr) {
        journal.say(Priority::notice,
                    Message::run_started,
                    "run " + number + " is the logbook's first",
                    std::vector<Field>{{"RUN", number}});
        return;
    }
    const std::string number_before = std::to_string(before->id.number);
    std::vector<Field> fields{
        {"RUN", number}, {"BEFORE", number_before}, {"END", end_word(before->end.end)}};
    add_took(fields, *before);
    if (before->stopping && !before->stopping->slowest.empty()) {
        fields.push_back({"SLOWEST", before->stopping->slowest});
    }
    const std::string why = logbook::why_slow(*before);
    journal.say(loudness_of(before->end.end),
                Message::run_started,
                "this is run " + number + "; run " + number_before + ": " +
                    logbook::sentence_of(*before) + (why.empty() ? "" : "; " + why),
                fields);
}

void tell_ended(ports::Journal& journal, const Run& run) {
    const std::string number = std::to_string(run.id.number);
    std::vector<Field> fields{{"RUN", number}};
    std::string text = "run " + number + " ends";
    if (run.ended && !run.ended->target.empty()) {
        fields.push_back({"TARGET", run.ended->target});
        text += " (" + run.ended->target + ")";
    }
    add_took(fields, run);
    if (const std::optional<Duration> time = run.going_down()) {
        text += ", " + seconds_text(*time) + " after going down began";
    }
    journal.say(Priority::notice, Message::run_ended, text, fields);
}

void tell_failed(ports::Journal& journal, std::string_view what, const Error& error) {
    const std::string text =
        std::string(what) + " is not in the logbook: " + error.text + "; " + remedy_of(error);
    journal.say(Priority::error, Message::logbook_failed, text);
}

}  // namespace nightlatch::tool
