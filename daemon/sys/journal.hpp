// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/sys/datagram.hpp"
#include "supervisor/ports/journal.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::sys {

inline constexpr std::string_view service_program = "nightlatchd";

/// One thing to say, before it is known where.
struct Saying {
    ports::Priority priority;
    ports::Message message;
    std::string_view text;
    std::span<const ports::Field> fields;
    std::string_view program = service_program;  ///< who says it
};

/// Both make what they say safe [base/text.hpp]: names from elsewhere are in it.

/// "NAME=value" each, MESSAGE first, then PRIORITY, MESSAGE_ID unless plain, and the fields with
/// NIGHTLATCH_ before their names [systemd.journal-fields(7)].
std::vector<std::string> journal_fields(const Saying& saying);

/// For a terminal or a file: "nightlatchd: warning: text\n"; notice and info carry no word.
std::string plain_line(const Saying& saying);

/// Is the file (device, inode) the stream that $JOURNAL_STREAM ("device:inode") names? A variable
/// alone proves nothing: it is inherited across redirections [systemd.exec(5)].
bool is_journal_stream(std::string_view variable, std::uint64_t device, std::uint64_t inode);

/// Where the journal takes lines [systemd's JOURNAL_NATIVE_PROTOCOL].
inline constexpr const char* journal_socket = "/run/systemd/journal/socket";

/// Tells the journal when stderr is the journal, and writes plain lines to stderr otherwise.
///
/// Never waits for the journal: a line that it does not take at once is lost, also one larger than
/// a datagram can be, which none of ours is. The next line that gets through is preceded by one
/// that says how many were lost.
class Journal final : public ports::Journal {
public:
    /// Drops what is less urgent than `least`; at `debug` each bounce would be a line.
    explicit Journal(ports::Priority least = ports::Priority::info,
                     std::string socket = journal_socket,
                     std::string_view program = service_program);

    [[nodiscard]] bool wants(ports::Priority priority) const noexcept override {
        return priority <= least_;
    }

    using ports::Journal::say;
    void say(ports::Priority priority,
             ports::Message message,
             const std::string& text,
             std::span<const ports::Field> fields) override;

    [[nodiscard]] bool structured() const noexcept { return structured_; }

private:
    void send(const Saying& saying);

    ports::Priority least_;
    std::string program_;
    bool structured_;
    Datagrams to_journal_;
    std::uint64_t lost_ = 0;  ///< lines since the last one that got through
};

}  // namespace nightlatch::sys
