// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/ports/disk.hpp"

#include <cstddef>
#include <functional>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::test {

/// What is on a disk: files by their names.
using Image = std::map<std::string, std::string>;

/// A disk in memory that knows what is safe from a loss of power and what is not, and that loses
/// its power at the call that it is told: a call does what it does to what is not safe yet,
/// confirms nothing, and none after it does anything. The way of SQLite's tests
/// [sqlite.org/testing.html, 3.3], but every damage at each call in the place of random ones.
class CrashDisk : public ports::Disk {
public:
    static constexpr std::size_t no_crash = std::numeric_limits<std::size_t>::max();

    explicit CrashDisk(const Image& image, std::size_t crash_at = no_crash);

    Result<std::optional<std::string>> read(const std::string& name) override;
    Outcome put(const std::string& name, std::string_view bytes) override;
    Outcome append(const std::string& name, std::string_view bytes) override;
    Outcome sync_data(const std::string& name) override;
    Outcome sync(const std::string& name) override;
    Outcome rename(const std::string& from, const std::string& to) override;
    Outcome sync_folder() override;

    /// The end of a boot in order, which counts as a call, too: all is safe then.
    bool unmount();

    /// Calls that change or keep something, up to the crash.
    [[nodiscard]] std::size_t calls() const { return calls_; }

    [[nodiscard]] bool crashed() const { return calls_ >= crash_at_; }

    /// Was the last call one that writes? What a call that syncs may leave when it is cut short is
    /// what the one that wrote before it may leave.
    [[nodiscard]] bool wrote() const { return wrote_; }

    enum class Damages : unsigned char { least, few, every };

    /// Each image that the crash may leave: of the changes of names that were not safe the first so
    /// many, for every number; of each file's bytes that were not safe none, each number of the
    /// first ones, zeros or other bytes in their place, or the last ones alone. `few`: without the
    /// prefixes, but half; `least`: none, half, all.
    void after_crash(Damages damages, const std::function<void(const Image&)>& look) const;

private:
    struct File {
        std::string safe;  ///< what is there whatever happens
        std::string now;
    };

    struct NameChange {
        std::string name;
        std::size_t file = 0;
        std::string gone{};  ///< the name that a renamed one had
    };

    using Names = std::map<std::string, std::size_t>;
    static void apply(const NameChange& change, Names& names);
    /// Whether the call may do what it does at once, and whether it may confirm it.
    bool begin();
    [[nodiscard]] Outcome end() const;
    File* find(const std::string& name);
    Outcome keep(const std::string& name);
    [[nodiscard]] std::vector<std::string> contents_of(const File& file, Damages damages) const;

    std::size_t crash_at_;
    std::size_t calls_ = 0;
    bool wrote_ = false;
    std::vector<File> files_;
    Names safe_names_;
    Names names_;
    std::vector<NameChange> unsafe_changes_;
};

/// A mistake that a writer, or the disk under it, could make.
enum class Mistake : unsigned char {
    none,
    folder_not_synced,      ///< a new name, or a rename, is not safe
    append_not_synced,      ///< fdatasync(2) left out
    new_file_not_synced,    ///< fsync(2) of a new file left out
    rename_before_sync,     ///< what is carried over is synced after the old file has gone
    no_end_of_a_torn_line,  ///< a record is appended to what was cut off
    nothing_carried_over,   ///< what was witnessed goes with the old file
    confirmed_before_sync,  ///< an append's sync is made at the next call
};

/// A writer's calls with a mistake, on their way to the disk.
class MistakenDisk : public ports::Disk {
public:
    MistakenDisk(CrashDisk& disk, Mistake mistake, std::string current)
        : disk_(disk), mistake_(mistake), current_(std::move(current)) {}

    Result<std::optional<std::string>> read(const std::string& name) override;
    Outcome put(const std::string& name, std::string_view bytes) override;
    Outcome append(const std::string& name, std::string_view bytes) override;
    Outcome sync_data(const std::string& name) override;
    Outcome sync(const std::string& name) override;
    Outcome rename(const std::string& from, const std::string& to) override;
    Outcome sync_folder() override;

private:
    /// Makes up for a sync that was put off.
    void make_up();
    bool is_carried(std::string_view bytes);

    CrashDisk& disk_;
    Mistake mistake_;
    std::string current_;
    bool carried_ = false;
    std::optional<std::string> put_off_;
};

}  // namespace nightlatch::test
