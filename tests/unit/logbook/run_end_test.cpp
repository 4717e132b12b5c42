// SPDX-License-Identifier: MIT
#include "logbook/run_end.hpp"
#include "unit/logbook/made.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::logbook;
using test::said;

namespace {

const FileSystem own_ext4{"/var/lib/nightlatch", "ext4", false};

Started with(std::vector<FileSystem> systems, std::vector<Evidence> evidence) {
    Started next = test::started(2);
    next.file_systems = std::move(systems);
    next.evidence = std::move(evidence);
    return next;
}

End end_of(std::vector<FileSystem> systems, std::vector<Evidence> evidence) {
    return judge(true, with(std::move(systems), std::move(evidence))).end;
}

}  // namespace

TEST_CASE("a run that wrote its end and left its root in order ended in order", "[logbook]") {
    const RunEnd end = judge(true, test::started(2));
    CHECK(end.end == End::orderly);
    REQUIRE(end.by);
    CHECK(end.by->by == Looker::fsck_log);
    CHECK(end.by->where == "/run/initramfs/fsck.log");
}

TEST_CASE("a run that never wrote its end was lost, whatever its file system looks like",
          "[logbook]") {
    CHECK(judge(false, test::started(2)).end == End::lost);
    CHECK(judge(false, test::started(2, Saw::recovery)).end == End::lost);
    Started next = test::started(2);
    next.evidence.push_back(said(Looker::pstore, Saw::words, ""));
    const RunEnd end = judge(false, next);
    CHECK(end.end == End::lost_last_words);
    CHECK(end.by->by == Looker::pstore);
    CHECK(judge(true, next).end == End::left);  // the kernel gave up after it
}

TEST_CASE("a check before the mount recovers what the kernel then has nothing to say of",
          "[logbook]") {
    // Measured on a loop device: e2fsck -p "recovering journal", status 0, and a silent mount.
    const RunEnd end = judge(true, test::started(2, Saw::recovery));
    CHECK(end.end == End::left);
    CHECK(end.by->by == Looker::fsck_log);
    CHECK(end_of({test::ext4_root},
                 {said(Looker::fsck_log, Saw::unreadable), said(Looker::kernel, Saw::clean)}) ==
          End::left);
}

TEST_CASE("without an initramfs the kernel mounts the root before it is checked", "[logbook]") {
    const Evidence none = said(Looker::fsck_log, Saw::not_there);
    const Evidence checked = said(Looker::fsck_unit, Saw::clean);
    CHECK(end_of({test::ext4_root}, {none, checked, said(Looker::kernel, Saw::clean)}) ==
          End::orderly);
    CHECK(end_of({test::ext4_root}, {none, checked, said(Looker::kernel, Saw::recovery)}) ==
          End::left);
    CHECK(end_of({test::ext4_root}, {none, checked, said(Looker::kernel, Saw::unreadable)}) ==
          End::left);
    CHECK(end_of({test::ext4_root}, {none, checked}) == End::left);
}

TEST_CASE("what was not looked at, or could not be read, is never orderly", "[logbook]") {
    CHECK(end_of({}, {}) == End::left);
    CHECK(end_of({test::ext4_root}, {}) == End::left);
    CHECK(end_of({own_ext4}, {said(Looker::kernel, Saw::clean, own_ext4.where)}) == End::left);
    CHECK(end_of({test::ext4_root}, {said(Looker::kernel, Saw::clean, "/boot")}) == End::left);
    for (const Saw saw : {Saw::recovery, Saw::not_there, Saw::unreadable, Saw::words}) {
        CHECK(end_of({test::ext4_root}, {said(Looker::kernel, saw)}) == End::left);
    }
    CHECK(end_of({test::ext4_root},
                 {said(Looker::kernel, Saw::clean), said(Looker::kernel, Saw::unreadable)}) ==
          End::left);
}

TEST_CASE("the logbook's own file system has its say, too", "[logbook]") {
    const Evidence root = said(Looker::kernel, Saw::clean);
    const auto own = [](Looker by, Saw saw) { return said(by, saw, own_ext4.where); };
    const std::vector<FileSystem> both{test::ext4_root, own_ext4};
    CHECK(end_of(both, {root}) == End::left);
    CHECK(end_of(both, {root, own(Looker::fsck_unit, Saw::clean)}) == End::orderly);
    CHECK(end_of(both,
                 {root, own(Looker::fsck_unit, Saw::not_there), own(Looker::kernel, Saw::clean)}) ==
          End::orderly);
    CHECK(
        end_of(both,
               {root, own(Looker::fsck_unit, Saw::unreadable), own(Looker::kernel, Saw::clean)}) ==
        End::left);
    CHECK(end_of(both,
                 {root, own(Looker::fsck_unit, Saw::recovery), own(Looker::kernel, Saw::clean)}) ==
          End::left);
}

TEST_CASE("f2fs mounts in silence after a loss of power: only its checkpoint tells", "[logbook]") {
    const FileSystem f2fs{"/", "f2fs", true};
    CHECK(end_of({f2fs}, {said(Looker::kernel, Saw::clean)}) == End::left);
    CHECK(end_of({f2fs}, {said(Looker::f2fs_status, Saw::clean)}) == End::orderly);
    CHECK(end_of({f2fs},
                 {said(Looker::f2fs_status, Saw::clean), said(Looker::kernel, Saw::recovery)}) ==
          End::left);
    CHECK(end_of({f2fs}, {said(Looker::f2fs_status, Saw::unreadable)}) == End::left);
}

TEST_CASE("of other file systems it cannot be known", "[logbook]") {
    const RunEnd end =
        judge(true, with({{"/", "overlay", true}}, {said(Looker::kernel, Saw::clean)}));
    CHECK(end.end == End::unknowable);
    CHECK(end.file_system == "/ (overlay)");
    CHECK(judge(false, with({{"/", "overlay", true}}, {})).end == End::lost);
    // One that could tell, and tells of a loss, counts.
    CHECK(end_of({{"/", "overlay", true}, own_ext4},
                 {said(Looker::kernel, Saw::recovery, own_ext4.where)}) == End::left);
    CHECK(end_of({{"/", "overlay", true}, own_ext4},
                 {said(Looker::kernel, Saw::clean, own_ext4.where)}) == End::unknowable);
}

TEST_CASE("a reset's cause decides nothing", "[logbook]") {
    Started next = test::started(2);
    next.evidence.push_back(said(Looker::reset_cause, Saw::words, ""));
    CHECK(judge(true, next).end == End::orderly);
    CHECK(judge(false, next).end == End::lost);
}

TEST_CASE("a file system that is never written to has nothing to recover", "[logbook]") {
    const FileSystem image{"/", "squashfs", true};
    CHECK(end_of({image, own_ext4}, {said(Looker::kernel, Saw::clean, own_ext4.where)}) ==
          End::orderly);
    CHECK(end_of({image, own_ext4}, {said(Looker::kernel, Saw::recovery, own_ext4.where)}) ==
          End::left);
    CHECK(end_of({image, own_ext4}, {}) == End::left);
    CHECK(end_of({{"/", "overlay", true}, own_ext4},
                 {said(Looker::kernel, Saw::clean, own_ext4.where)}) == End::unknowable);
}

TEST_CASE("a check of f2fs before the mount may leave a checkpoint of its own", "[logbook]") {
    const FileSystem card{"/", "f2fs", true};
    CHECK(end_of({card},
                 {said(Looker::fsck_log, Saw::recovery), said(Looker::f2fs_status, Saw::clean)}) ==
          End::left);
    CHECK(end_of({card},
                 {said(Looker::fsck_log, Saw::not_there), said(Looker::f2fs_status, Saw::clean)}) ==
          End::orderly);
}
