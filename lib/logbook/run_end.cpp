// SPDX-License-Identifier: MIT
#include "logbook/run_end.hpp"

#include <algorithm>
#include <array>
#include <span>

namespace nightlatch::logbook {
namespace {

/// Who comes first to a file system that was not left in order, and would say so.
///
/// ext4: e2fsck recovers the journal, says "recovering journal" and ends with 0, and the mount that
/// follows is silent; without a check the mount says "recovery complete". The root is mounted
/// before systemd checks it [e2fsck(8); linux fs/ext4/super.c; initramfs-tools scripts/functions;
/// measured on a loop device: each of both orders]. f2fs: the mount recovers what was synced after
/// the last checkpoint, if there is any, so that its silence says nothing; the checkpoint that it
/// finds says whether it was the one of an unmount [linux Documentation/ABI/testing/sysfs-fs-f2fs,
/// cp_status]. A check before says which it found, and may write one of its own.
struct FirstSeers {
    std::string_view type;
    bool root = false;
    std::array<Looker, 3> lookers{};
    std::size_t count = 0;
};

constexpr std::array first_seers{
    FirstSeers{"ext4", true, {Looker::fsck_log, Looker::kernel}, 2},
    FirstSeers{"ext3", true, {Looker::fsck_log, Looker::kernel}, 2},
    FirstSeers{"ext4", false, {Looker::fsck_log, Looker::fsck_unit, Looker::kernel}, 3},
    FirstSeers{"ext3", false, {Looker::fsck_log, Looker::fsck_unit, Looker::kernel}, 3},
    FirstSeers{"f2fs", true, {Looker::fsck_log, Looker::f2fs_status}, 2},
    FirstSeers{"f2fs", false, {Looker::fsck_log, Looker::fsck_unit, Looker::f2fs_status}, 3},
};

/// Never written to: there is nothing to recover [linux Documentation/filesystems/].
constexpr std::array<std::string_view, 5> never_written{
    "cramfs", "erofs", "iso9660", "romfs", "squashfs"};

bool is_never_written(const FileSystem& system) {
    return std::find(never_written.begin(), never_written.end(), system.type) !=
           never_written.end();
}

std::span<const Looker> seers_of(const FileSystem& system) {
    const auto found = std::find_if(first_seers.begin(), first_seers.end(), [&](const auto& row) {
        return row.type == system.type && row.root == system.root;
    });
    return found == first_seers.end() ? std::span<const Looker>{}
                                      : std::span(found->lookers).first(found->count);
}

const Evidence* find(const Started& next, const auto& matches) {
    const auto found = std::find_if(next.evidence.begin(), next.evidence.end(), matches);
    return found == next.evidence.end() ? nullptr : &*found;
}

/// What one of them said of it; of two pieces, the worse. Null where nobody looked.
const Evidence* said_by(Looker looker, const FileSystem& system, const Started& next) {
    const Evidence* found = nullptr;
    for (const Evidence& one : next.evidence) {
        if (one.by != looker || one.of != system.where || one.saw == Saw::not_there) {
            continue;
        }
        if (found == nullptr || found->saw == Saw::clean) {
            found = &one;
        }
    }
    return found;
}

/// The piece of the first who looked.
const Evidence* first_seen(const Started& next, const FileSystem& system) {
    const Evidence* found = nullptr;
    for (const Looker looker : seers_of(system)) {
        found = found == nullptr ? said_by(looker, system, next) : found;
    }
    return found;
}

RunEnd end_by(End end, const Evidence* piece) {
    return {end, piece == nullptr ? std::nullopt : std::optional(*piece), {}};
}

RunEnd judge_systems(const Started& next) {
    const bool knows_root = std::any_of(next.file_systems.begin(),
                                        next.file_systems.end(),
                                        [](const FileSystem& system) { return system.root; });
    RunEnd end{knows_root ? End::orderly : End::left, {}, {}};
    for (const FileSystem& system : next.file_systems) {
        if (is_never_written(system)) {
            continue;
        }
        if (seers_of(system).empty()) {
            end = {End::unknowable, {}, system.where + " (" + system.type + ")"};
            continue;
        }
        const Evidence* const piece = first_seen(next, system);
        if (piece == nullptr || piece->saw != Saw::clean) {
            return end_by(End::left, piece);
        }
        if (end.end == End::orderly && (system.root || !end.by)) {
            end.by = *piece;
        }
    }
    return end;
}

}  // namespace

std::string_view text_of(End end) noexcept {
    switch (end) {
    case End::running:
        return "running";
    case End::orderly:
        return "orderly";
    case End::left:
        return "left, end not seen";
    case End::lost:
        return "lost";
    case End::lost_last_words:
        return "lost, with last words";
    case End::unknowable:
        return "cannot be known";
    case End::not_looked:
        return "not looked";
    }
    return "";
}

RunEnd judge(bool wrote_its_end, const Started& next) {
    const Evidence* const last_words = find(next, [](const Evidence& one) {
        return one.by == Looker::pstore && one.saw == Saw::words;
    });
    if (!wrote_its_end) {
        return end_by(last_words == nullptr ? End::lost : End::lost_last_words, last_words);
    }
    const Evidence* const recovery =
        find(next, [](const Evidence& one) { return one.saw == Saw::recovery; });
    if (recovery != nullptr || last_words != nullptr) {
        return end_by(End::left, recovery != nullptr ? recovery : last_words);
    }
    return judge_systems(next);
}

}  // namespace nightlatch::logbook
