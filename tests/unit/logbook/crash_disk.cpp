// SPDX-License-Identifier: MIT
#include "unit/logbook/crash_disk.hpp"

#include <algorithm>

namespace nightlatch::test {
namespace {

Outcome failed(const char* what) {
    return Unexpected{Error{Trouble::other, what, 0}};
}

std::string other_bytes(std::size_t count) {
    std::string bytes;
    for (std::size_t i = 0; i < count; ++i) {
        bytes +=
            static_cast<char>((i * 151 + 10) & 0xFFU);  // line ends among them, the first is one
    }
    return bytes;
}

/// Zeros and other bytes in the place of what was added, and what an older block has, as one comes
/// back where a file grows.
void add_damaged(const std::string& safe,
                 const std::string& added,
                 std::vector<std::string>& tails) {
    const std::size_t half = added.size() / 2;
    tails.emplace_back(added.size(), '\0');
    tails.push_back(added.substr(0, half) + std::string(added.size() - half, '\0'));
    tails.push_back(std::string(half, '\0') + added.substr(half));
    tails.push_back(other_bytes(added.size()));
    tails.push_back(safe.substr(0, added.size()));
    tails.push_back('\n' + safe.substr(0, added.size() - 1));
}

void look_at_each(Image image,
                  const std::string& name,
                  const std::vector<std::string>& contents,
                  const std::function<void(const Image&)>& look) {
    for (const std::string& bytes : contents) {
        image[name] = bytes;
        look(image);
    }
}

}  // namespace

CrashDisk::CrashDisk(const Image& image, std::size_t crash_at) : crash_at_(crash_at) {
    for (const auto& [name, bytes] : image) {
        safe_names_[name] = files_.size();
        files_.push_back({bytes, bytes});
    }
    names_ = safe_names_;
}

bool CrashDisk::begin() {
    if (crashed()) {
        return false;
    }
    ++calls_;
    wrote_ = false;
    return true;
}

Outcome CrashDisk::end() const {
    return crashed() ? failed("the supply is gone") : Outcome(std::monostate{});
}

CrashDisk::File* CrashDisk::find(const std::string& name) {
    const auto at = names_.find(name);
    return at == names_.end() ? nullptr : &files_[at->second];
}

Result<std::optional<std::string>> CrashDisk::read(const std::string& name) {
    if (crashed()) {
        return Unexpected{Error{Trouble::other, "the supply is gone", 0}};
    }
    const File* const file = find(name);
    return file == nullptr ? std::nullopt : std::optional(file->now);
}

Outcome CrashDisk::put(const std::string& name, std::string_view bytes) {
    if (begin()) {
        // A new file in any case: of the old one's bytes nobody reads any more.
        unsafe_changes_.push_back({name, files_.size()});
        apply(unsafe_changes_.back(), names_);
        files_.push_back({"", std::string(bytes)});
        wrote_ = true;
    }
    return end();
}

Outcome CrashDisk::append(const std::string& name, std::string_view bytes) {
    File* const file = find(name);
    if (file == nullptr) {
        return failed("no such file");
    }
    if (begin()) {
        file->now += bytes;
        wrote_ = true;
    }
    return end();
}

Outcome CrashDisk::keep(const std::string& name) {
    File* const file = find(name);
    if (file == nullptr) {
        return failed("no such file");
    }
    if (begin() && !crashed()) {
        file->safe = file->now;
    }
    return end();
}

Outcome CrashDisk::sync_data(const std::string& name) {
    return keep(name);
}

Outcome CrashDisk::sync(const std::string& name) {
    return keep(name);  // and not its name: POSIX promises none [fsync(2)]
}

Outcome CrashDisk::rename(const std::string& from, const std::string& to) {
    const auto at = names_.find(from);
    if (at == names_.end()) {
        return failed("no such file");
    }
    if (begin()) {
        unsafe_changes_.push_back({to, at->second, from});
        apply(unsafe_changes_.back(), names_);
    }
    return end();
}

Outcome CrashDisk::sync_folder() {
    if (begin() && !crashed()) {
        safe_names_ = names_;
        unsafe_changes_.clear();
    }
    return end();
}

bool CrashDisk::unmount() {
    if (begin() && !crashed()) {
        safe_names_ = names_;
        unsafe_changes_.clear();
        for (File& file : files_) {
            file.safe = file.now;
        }
    }
    return !crashed();
}

void CrashDisk::apply(const NameChange& change, Names& names) {
    names.erase(change.gone);
    names[change.name] = change.file;
}

std::vector<std::string> CrashDisk::contents_of(const File& file, Damages damages) const {
    const std::string added = file.now.substr(file.safe.size());
    if (added.empty()) {
        return {};
    }
    const std::size_t half = added.size() / 2;
    std::vector<std::string> tails{"", added, added.substr(0, half)};
    if (damages != Damages::least) {
        add_damaged(file.safe, added, tails);
    }
    for (std::size_t bytes = 1; damages == Damages::every && bytes < added.size(); ++bytes) {
        tails.push_back(added.substr(0, bytes));
    }
    for (std::string& tail : tails) {
        tail.insert(0, file.safe);
    }
    return tails;
}

void CrashDisk::after_crash(Damages damages, const std::function<void(const Image&)>& look) const {
    Names names = safe_names_;
    for (std::size_t changes = 0;; ++changes) {
        // One file takes all that can have become of it, while the others have none or all.
        Image none;
        Image all;
        for (const auto& [name, file] : names) {
            none[name] = files_[file].safe;
            all[name] = files_[file].now;
        }
        look(none);
        for (const auto& [name, file] : names) {
            look_at_each(none, name, contents_of(files_[file], damages), look);
            none[name] = files_[file].now;
            if (none != all) {
                look_at_each(all, name, contents_of(files_[file], damages), look);
            }
            none[name] = files_[file].safe;
        }
        if (changes == unsafe_changes_.size()) {
            return;
        }
        apply(unsafe_changes_[changes], names);
    }
}

void MistakenDisk::make_up() {
    if (put_off_) {
        (void)disk_.sync_data(*put_off_);
        put_off_.reset();
    }
}

bool MistakenDisk::is_carried(std::string_view bytes) {
    const auto older = disk_.read(current_ + ".1");
    return older && *older && (*older)->find(bytes) != std::string::npos;
}

Result<std::optional<std::string>> MistakenDisk::read(const std::string& name) {
    return disk_.read(name);
}

Outcome MistakenDisk::put(const std::string& name, std::string_view bytes) {
    make_up();
    return disk_.put(name, bytes);
}

Outcome MistakenDisk::append(const std::string& name, std::string_view bytes) {
    make_up();
    carried_ = is_carried(bytes);
    if (mistake_ == Mistake::nothing_carried_over && carried_) {
        return std::monostate{};
    }
    if (mistake_ == Mistake::no_end_of_a_torn_line && bytes.starts_with('\n')) {
        bytes.remove_prefix(1);
    }
    return disk_.append(name, bytes);
}

Outcome MistakenDisk::sync_data(const std::string& name) {
    make_up();
    if (mistake_ == Mistake::append_not_synced) {
        return std::monostate{};
    }
    const bool later = mistake_ == Mistake::confirmed_before_sync ||
                       (mistake_ == Mistake::rename_before_sync && carried_);
    if (later) {
        put_off_ = name;
        return std::monostate{};
    }
    return disk_.sync_data(name);
}

Outcome MistakenDisk::sync(const std::string& name) {
    make_up();
    return mistake_ == Mistake::new_file_not_synced ? Outcome(std::monostate{}) : disk_.sync(name);
}

Outcome MistakenDisk::rename(const std::string& from, const std::string& to) {
    if (mistake_ == Mistake::rename_before_sync && put_off_ == from) {
        Outcome done = disk_.rename(from, to);
        put_off_ = to;
        return done;
    }
    make_up();
    return disk_.rename(from, to);
}

Outcome MistakenDisk::sync_folder() {
    if (mistake_ == Mistake::folder_not_synced) {
        return std::monostate{};
    }
    Outcome done = disk_.sync_folder();
    make_up();
    return done;
}

}  // namespace nightlatch::test
