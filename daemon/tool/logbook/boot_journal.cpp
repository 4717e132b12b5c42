// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/boot_journal.hpp"

#include "base/handle.hpp"
#include "logbook/stopping.hpp"

#include <algorithm>
#include <array>
#include <cstring>

#include <systemd/sd-journal.h>
#include <systemd/sd-messages.h>

namespace nightlatch::tool {
namespace {

using JournalHandle = Handle<sd_journal, sd_journal_close>;
using logbook::StopLine;

/// A boot has some thousand lines of the kernel, and a shutdown some hundred of systemd.
constexpr int most_lines = 50'000;
constexpr std::size_t longest_line = 1'000;

struct Match {
    const char* field;
    std::string value;
};

/// The lines of one boot that have all of the fields. Empty when the journal cannot be opened.
class Lines {
public:
    Lines(const std::string& root, const std::string& boot, const std::vector<Match>& matches) {
        sd_journal* opened = nullptr;
        const int status =
            root.empty() ? sd_journal_open(&opened, SD_JOURNAL_LOCAL_ONLY)
                         : sd_journal_open_directory(&opened, root.c_str(), SD_JOURNAL_OS_ROOT);
        if (status < 0) {
            return;
        }
        journal_.reset(opened);
        add({"_BOOT_ID", boot});
        for (const Match& match : matches) {
            add(match);
        }
        sd_journal_seek_head(journal_.get());
    }

    /// What is next is the first line since then, of a boot by its own id.
    void seek(const std::string& boot, Instant since) {
        sd_id128_t id{};
        if (journal_ && sd_id128_from_string(boot.c_str(), &id) == 0) {
            const auto usec =
                std::chrono::floor<std::chrono::microseconds>(since.time_since_epoch());
            sd_journal_seek_monotonic_usec(
                journal_.get(), id, static_cast<std::uint64_t>(usec.count()));
        }
    }

    /// Goes to the next one.
    bool next() {
        return journal_ && ++count_ <= most_lines && sd_journal_next(journal_.get()) > 0;
    }

    /// "" when the line has none.
    [[nodiscard]] std::string field(const char* name) const {
        const void* data = nullptr;
        std::size_t length = 0;
        if (sd_journal_get_data(journal_.get(), name, &data, &length) < 0) {
            return "";
        }
        const std::string_view whole(static_cast<const char*>(data), length);
        return std::string(
            whole.substr(std::min(std::strlen(name) + 1, whole.size())).substr(0, longest_line));
    }

    [[nodiscard]] Instant at() const {
        std::uint64_t usec = 0;
        sd_id128_t boot{};
        sd_journal_get_monotonic_usec(journal_.get(), &usec, &boot);
        return Instant(std::chrono::microseconds(usec));
    }

private:
    void add(const Match& match) {
        const std::string text = std::string(match.field) + "=" + match.value;
        sd_journal_add_match(journal_.get(), text.data(), text.size());
    }

    JournalHandle journal_;
    int count_ = 0;
};

Known<std::vector<std::string>> ext4_lines(const std::string& root, const std::string& boot) {
    std::vector<std::string> found;
    bool any = false;
    for (Lines lines(root, boot, {{"_TRANSPORT", "kernel"}}); lines.next();) {
        any = true;
        std::string text = lines.field("MESSAGE");
        if (text.starts_with("EXT4-fs ")) {
            found.push_back(std::move(text));
        }
    }
    if (!any) {
        return Known<std::vector<std::string>>::missing(
            "the kernel's lines in this boot's journal (no line there that this account may read)");
    }
    return found;
}

/// One for each device, with all that was printed.
std::vector<logbook::LoggedCheck> unit_checks(const std::string& root, const std::string& boot) {
    std::vector<logbook::LoggedCheck> checks;
    for (Lines lines(root, boot, {{"SYSLOG_IDENTIFIER", "systemd-fsck"}}); lines.next();) {
        const std::string device = logbook::checked_by_unit(lines.field("_SYSTEMD_UNIT"));
        if (device.empty()) {
            continue;  // of the root, which the kernel had mounted before
        }
        auto check = std::find_if(
            checks.begin(), checks.end(), [&](const auto& one) { return one.device == device; });
        if (check == checks.end()) {
            check = checks.insert(checks.end(), {device, ""});
        }
        check->printed += lines.field("MESSAGE") + "\n";
    }
    return checks;
}

std::vector<std::string> kept_last_words(const std::string& root, const std::string& boot) {
    std::vector<std::string> words;
    for (Lines lines(root, boot, {{"SYSLOG_IDENTIFIER", "systemd-pstore"}}); lines.next();) {
        std::string text = lines.field("MESSAGE");
        if (text.starts_with("PStore ")) {
            words.push_back(std::move(text));
        }
    }
    return words;
}

struct Announced {
    Instant at{};
    std::string target;
};

/// The last one: a shutdown that was given up has been none.
std::optional<Announced> announced_shutdown(const std::string& root, const std::string& boot) {
    std::optional<Announced> announced;
    for (Lines lines(root, boot, {{"MESSAGE_ID", SD_MESSAGE_SHUTDOWN_STR}}); lines.next();) {
        announced = Announced{lines.at(), lines.field("SHUTDOWN")};
    }
    return announced;
}

/// The line's meaning; nothing for one that says nothing of a stop.
std::optional<StopLine> stop_line(const Lines& lines) {
    using What = StopLine::What;
    const std::string unit = lines.field("UNIT");
    const std::string id = lines.field("MESSAGE_ID");
    if (unit.empty()) {
        return std::nullopt;
    }
    if (id == SD_MESSAGE_UNIT_STOPPING_STR) {
        return StopLine{What::stopping, lines.at(), unit};
    }
    if (id == SD_MESSAGE_UNIT_STOPPED_STR) {
        return StopLine{What::stopped, lines.at(), unit};
    }
    if (id == SD_MESSAGE_UNIT_STARTED_STR && unit.ends_with(".target")) {
        return StopLine{What::reached, lines.at(), unit};
    }
    const std::string text = lines.field("MESSAGE");
    if (text.find("State '") != std::string::npos &&
        text.find("' timed out") != std::string::npos) {
        return StopLine{What::timed_out, lines.at(), unit};
    }
    return std::nullopt;
}

}  // namespace

BootLines read_boot_lines(const std::string& root, const std::string& boot) {
    return {ext4_lines(root, boot), unit_checks(root, boot), kept_last_words(root, boot)};
}

std::string read_target(const std::string& root, const std::string& boot) {
    const auto announced = announced_shutdown(root, boot);
    // logind's words have a hyphen where the targets have none [systemd src/login/logind-dbus.c].
    return !announced ? "" : announced->target == "power-off" ? "poweroff" : announced->target;
}

std::optional<logbook::Stopping> read_stopping(const std::string& root,
                                               const std::string& boot,
                                               std::optional<Instant> from) {
    if (const auto announced = announced_shutdown(root, boot)) {
        from = announced->at;
    }
    Lines lines(root, boot, {{"_PID", "1"}});
    if (!lines.next()) {
        return std::nullopt;
    }
    std::vector<StopLine> found;
    if (from) {
        lines.seek(boot, *from);
    }
    while (from && lines.next()) {
        auto line = stop_line(lines);
        if (line && line->at >= *from) {
            found.push_back(*std::move(line));
        }
    }
    return logbook::stopping_of(found);
}

}  // namespace nightlatch::tool
