// SPDX-License-Identifier: MIT
#include "daemon/sys/journal.hpp"

#include "base/text.hpp"
#include "daemon/sys/message_ids.hpp"

#include <cerrno>
#include <cstdlib>
#include <string>

#include <sys/stat.h>
#include <unistd.h>

namespace nightlatch::sys {

namespace {

static_assert(
    [] {
        for (const MessageId& one : message_ids) {
            int same = 0;
            for (const MessageId& other : message_ids) {
                same += one.message == other.message || one.id == other.id ? 1 : 0;
            }
            if (same != 1 || one.id.size() != 32) {
                return false;
            }
        }
        return true;
    }(),
    "each kind of message has one id of 32 digits, and each id belongs to one kind");
static_assert(message_ids.size() == static_cast<std::size_t>(ports::Message::logbook_failed),
              "every kind but `plain`, which comes first, has an id");

std::string_view word_of(ports::Priority priority) {
    switch (priority) {
    case ports::Priority::error:
        return "error: ";
    case ports::Priority::warning:
        return "warning: ";
    case ports::Priority::notice:
    case ports::Priority::info:
        return "";
    case ports::Priority::debug:
        return "debug: ";
    }
    return "";
}

bool stderr_is_the_journal() {
    const char* variable = std::getenv("JOURNAL_STREAM");

    struct stat status {};

    return variable != nullptr && fstat(STDERR_FILENO, &status) == 0 &&
           is_journal_stream(variable, status.st_dev, status.st_ino);
}

/// One field a line: that is enough where no value has a line break, and what is safe has none.
std::string datagram_of(const Saying& saying) {
    std::string text = "SYSLOG_IDENTIFIER=" + std::string(saying.program) + "\n";
    for (const std::string& field : journal_fields(saying)) {
        text += field + '\n';
    }
    return text;
}

/// Whoever cannot be told is not told: there is nowhere left to complain.
void write_to_stderr(std::string_view line) {
    while (!line.empty()) {
        const ssize_t written = write(STDERR_FILENO, line.data(), line.size());
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written <= 0) {
            return;
        }
        line.remove_prefix(static_cast<std::size_t>(written));
    }
}

}  // namespace

std::vector<std::string> journal_fields(const Saying& saying) {
    std::vector<std::string> fields;
    fields.reserve(3 + saying.fields.size());
    fields.push_back("MESSAGE=" + safe(saying.text));
    fields.push_back("PRIORITY=" + std::to_string(static_cast<int>(saying.priority)));
    if (const std::string_view id = id_of(saying.message); !id.empty()) {
        fields.push_back("MESSAGE_ID=" + std::string{id});
    }
    for (const ports::Field& field : saying.fields) {
        fields.push_back("NIGHTLATCH_" + std::string{field.name} + "=" + safe(field.value));
    }
    return fields;
}

std::string plain_line(const Saying& saying) {
    std::string line = std::string(saying.program) + ": ";
    line += word_of(saying.priority);
    line += safe(saying.text);
    line += '\n';
    return line;
}

bool is_journal_stream(std::string_view variable, std::uint64_t device, std::uint64_t inode) {
    return variable == std::to_string(device) + ":" + std::to_string(inode);
}

Journal::Journal(ports::Priority least, std::string socket, std::string_view program)
    : least_(least), program_(program), structured_(stderr_is_the_journal()),
      to_journal_(std::move(socket)) {}

void Journal::say(ports::Priority priority,
                  ports::Message message,
                  const std::string& text,
                  std::span<const ports::Field> fields) {
    if (!wants(priority)) {
        return;
    }
    const Saying saying{priority, message, text, fields, program_};
    if (structured_) {
        send(saying);
    } else {
        write_to_stderr(plain_line(saying));
    }
}

/// Not to stderr either when it is not taken: that is the same journal, by a stream that blocks.
void Journal::send(const Saying& saying) {
    if (lost_ > 0) {
        const std::string text = counted(lost_, "line is", "lines are") +
                                 " missing before this one: the journal did not take " +
                                 (lost_ == 1 ? "it" : "them");
        if (to_journal_.send(datagram_of(
                {ports::Priority::warning, ports::Message::plain, text, {}, program_}))) {
            lost_ = 0;
        }
    }
    if (lost_ > 0 || !to_journal_.send(datagram_of(saying))) {
        ++lost_;
    }
}

}  // namespace nightlatch::sys
