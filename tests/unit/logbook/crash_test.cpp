// SPDX-License-Identifier: MIT
// The supply is lost at every call of the logbook's writer, and each time everything is tried that
// it can leave on the disk; then the machine goes on.
#include "unit/logbook/boots.hpp"

#include <cstdio>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::test;

namespace {

// The third, the fifth and the seventh boot begin a new file, and carry over what was witnessed.
constexpr unsigned boots_at_all = 7;

struct Tried {
    std::size_t calls = 0;
    std::size_t images = 0;
    std::size_t bad = 0;
    std::string first_bad{};
};

struct Plan {
    Mistake mistake = Mistake::none;
    Before heard = Before::crashed;  ///< of the supply's loss
    CrashDisk::Damages damages = CrashDisk::Damages::every;
    bool stop_at_first = false;
    unsigned boots = boots_at_all;
};

bool run(CrashDisk& disk, Boots& boots, const Plan& plan) {
    MistakenDisk calls(disk, plan.mistake, Boots::place.file);
    while (boots.count() < plan.boots) {
        if (!boots.boot(disk, calls, Before::clean)) {
            return false;
        }
    }
    return true;
}

/// After the crash two boots more: the one that hears of it, and one that finds all in order.
std::string go_on(const Image& image, Boots boots, const Plan& plan) {
    CrashDisk disk(image);
    MistakenDisk calls(disk, plan.mistake, Boots::place.file);
    for (const Before before : {plan.heard, Before::clean, Before::clean}) {
        if (std::string wrong = boots.wrong(disk); !wrong.empty()) {
            return wrong;
        }
        boots.boot(disk, calls, before);
    }
    return boots.wrong(disk);
}

void count(const std::string& wrong, std::size_t call, Tried& tried) {
    ++tried.images;
    tried.bad += wrong.empty() ? 0U : 1U;
    if (!wrong.empty() && tried.first_bad.empty()) {
        tried.first_bad = "the supply is lost at call " + std::to_string(call) + ": " + wrong;
    }
}

Tried crash_at_every_call(const Plan& plan) {
    Tried tried;
    for (std::size_t call = 1;; ++call) {
        CrashDisk disk({}, call);
        Boots boots;
        if (run(disk, boots, plan)) {
            return tried;
        }
        tried.calls = call;
        const auto damages = disk.wrote() ? plan.damages : CrashDisk::Damages::few;
        disk.after_crash(damages, [&](const Image& image) {
            if (!plan.stop_at_first || tried.bad == 0) {
                count(go_on(image, boots, plan), call, tried);
            }
        });
    }
}

/// The supply is lost again at every call of the boot after.
Tried crash_twice() {
    const Plan plan{Mistake::none, Before::crashed, CrashDisk::Damages::least, false, 5};
    Tried tried;
    for (std::size_t first = 1;; ++first) {
        CrashDisk disk({}, first);
        Boots boots;
        if (run(disk, boots, plan)) {
            return tried;
        }
        disk.after_crash(plan.damages, [&](const Image& image) {
            for (std::size_t second = 1;; ++second) {
                CrashDisk again(image, second);
                Boots more = boots;
                if (more.boot(again, again, Before::crashed)) {
                    return;
                }
                ++tried.calls;
                again.after_crash(plan.damages, [&](const Image& last) {
                    count(go_on(last, more, plan), first, tried);
                });
            }
        });
    }
}

void print(const char* what, const Tried& tried) {
    std::printf("%s: %zu calls, %zu images\n", what, tried.calls, tried.images);
}

}  // namespace

TEST_CASE("a loss of power at any call loses no confirmed record and makes no end orderly",
          "[logbook]") {
    using Damages = CrashDisk::Damages;
    for (const Plan& plan : {Plan{}, {Mistake::none, Before::crashed_not_heard, Damages::few}}) {
        const Tried tried = crash_at_every_call(plan);
        print("the supply lost once", tried);
        INFO(tried.first_bad);
        CHECK(tried.bad == 0);
        CHECK(tried.calls > 40);
        CHECK(tried.images > (plan.damages == Damages::every ? 3'000U : 300U));
    }
}

TEST_CASE("a second loss of power while the first is written down loses nothing, either",
          "[logbook]") {
    const Tried tried = crash_twice();
    print("the supply lost twice", tried);
    INFO(tried.first_bad);
    CHECK(tried.bad == 0);
    CHECK(tried.images > 1'000);
}

TEST_CASE("each mistake of a writer is seen", "[logbook]") {
    for (const Mistake mistake : {Mistake::folder_not_synced,
                                  Mistake::append_not_synced,
                                  Mistake::new_file_not_synced,
                                  Mistake::rename_before_sync,
                                  Mistake::no_end_of_a_torn_line,
                                  Mistake::nothing_carried_over,
                                  Mistake::confirmed_before_sync}) {
        const Tried tried =
            crash_at_every_call({mistake, Before::crashed, CrashDisk::Damages::few, true});
        std::printf("mistake %d: %s\n", static_cast<int>(mistake), tried.first_bad.c_str());
        INFO(static_cast<int>(mistake));
        CHECK(tried.bad > 0);
    }
}

TEST_CASE("who hears the kernel alone calls a lost run orderly, and is seen", "[logbook]") {
    const Tried tried = crash_at_every_call(
        {Mistake::none, Before::crashed_kernel_only, CrashDisk::Damages::few, true});
    CHECK(tried.bad > 0);
    CHECK(tried.first_bad.find("orderly, and the supply was lost") != std::string::npos);
}
