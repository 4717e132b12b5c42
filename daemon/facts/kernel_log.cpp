// SPDX-License-Identifier: MIT
#include "daemon/facts/kernel_log.hpp"

#include "daemon/facts/files.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cerrno>
#include <charconv>

#include <fcntl.h>

namespace nightlatch::facts {
namespace {

constexpr const char* log = "/dev/kmsg";
/// More than the largest usual log buffer holds; a kernel that talks as fast as we read ends here.
constexpr int most_reads = 100'000;
constexpr std::size_t most_kept = 50;
constexpr std::size_t record_bytes = 8'192;  ///< what the kernel's own reader takes at most

/// Lower-case, and what each is: the driver's two names, its and others' failures and claims
/// [linux drivers/power/reset/gpio-poweroff.c, kernel/reboot.c, drivers/watchdog/bcm2835_wdt.c].
constexpr std::string_view about_power_off[] = {"poweroff-gpio",
                                                "gpio-poweroff",
                                                "pm_power_off",
                                                "poweroff handler",
                                                "power off not available"};

/// Takes records one after the other and keeps those that matter.
class Keeper {
public:
    void take(std::string_view text) {
        for (const std::string& line : lines_of(text)) {
            if (auto record = log_record(line)) {
                keep(std::move(*record));
            }
        }
    }

    Known<std::vector<std::string>> kept() && {
        if (kept_.empty() && !from_the_beginning_) {
            return Known<std::vector<std::string>>::missing(
                "the kernel's log from its beginning (overwritten since; journalctl -k has it)");
        }
        return std::move(kept_);
    }

private:
    void keep(LogRecord record) {
        from_the_beginning_ = from_the_beginning_ || record.number == 0;
        if (!is_about_power_off(record.text)) {
            return;
        }
        if (kept_.size() == most_kept) {
            kept_.erase(kept_.begin());
        }
        kept_.push_back(std::move(record.text));
    }

    std::vector<std::string> kept_;
    bool from_the_beginning_ = false;
};

}  // namespace

std::optional<LogRecord> log_record(std::string_view line) {
    const std::size_t comma = line.find(',');
    const std::size_t end = line.find(';');
    if (comma == std::string_view::npos || end == std::string_view::npos || comma > end) {
        return std::nullopt;
    }
    LogRecord record;
    const char* const number = line.data() + comma + 1;
    const auto [stopped, error] = std::from_chars(number, line.data() + end, record.number);
    if (error != std::errc{} || line.front() == ' ' || (*stopped != ',' && *stopped != ';')) {
        return std::nullopt;
    }
    record.text = line.substr(end + 1);
    return record;
}

bool is_about_power_off(std::string_view text) {
    std::string small(text);
    std::transform(small.begin(), small.end(), small.begin(), [](unsigned char c) {
        return static_cast<char>(std::tolower(c));
    });
    return std::any_of(
        std::begin(about_power_off), std::end(about_power_off), [&small](std::string_view word) {
            return small.find(word) != std::string::npos;
        });
}

Known<std::vector<std::string>> read_power_off_log(const std::string& root) {
    const Read<Descriptor> file = open_below(root, log, O_RDONLY);
    if (!file) {
        return Known<std::vector<std::string>>::missing(
            file.error().absent() ? file.error().text : "the kernel's log (run as root)");
    }
    Keeper keeper;
    std::array<char, record_bytes> record{};
    for (int i = 0; i < most_reads; ++i) {
        const ssize_t count = read(file->get(), record.data(), record.size());
        if (count < 0 && (errno == EPIPE || errno == EINTR)) {
            continue;  // overwritten while we read: the next one is there
        }
        if (count < 0 && errno != EAGAIN) {
            return Known<std::vector<std::string>>::missing(missing(root + log, errno).text);
        }
        if (count <= 0) {
            break;
        }
        keeper.take({record.data(), static_cast<std::size_t>(count)});
    }
    return std::move(keeper).kept();
}

}  // namespace nightlatch::facts
