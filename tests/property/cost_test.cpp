// SPDX-License-Identifier: MIT
// What a sample costs: no allocation, and so little time that a year of edges is nothing.
#include "property/random_line.hpp"
#include "property/sweep.hpp"

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <iostream>
#include <new>

#include <catch2/catch_test_macros.hpp>

namespace {

std::atomic<std::size_t> allocations{0};

void* counted(std::size_t size) {
    allocations.fetch_add(1, std::memory_order_relaxed);
    void* room = std::malloc(size == 0 ? 1 : size);  // NOLINT(cppcoreguidelines-no-malloc)
    if (room == nullptr) {
        throw std::bad_alloc{};
    }
    return room;
}

}  // namespace

// NOLINTBEGIN(cppcoreguidelines-no-malloc): operator new stands on malloc.
// Every allocation of this program is counted: the replaceable functions, in pairs.
void* operator new(std::size_t size) {
    return counted(size);
}

void* operator new[](std::size_t size) {
    return counted(size);
}

void operator delete(void* room) noexcept {
    std::free(room);
}

void operator delete[](void* room) noexcept {
    std::free(room);
}

void operator delete(void* room, std::size_t) noexcept {
    std::free(room);
}

void operator delete[](void* room, std::size_t) noexcept {
    std::free(room);
}

// NOLINTEND(cppcoreguidelines-no-malloc)

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

struct Ran {
    std::uint64_t samples = 0;
    std::uint64_t wakes = 0;
    std::uint64_t actions = 0;
    std::uint64_t asks = 0;
    std::size_t allocations = 0;
    std::chrono::duration<double> took{};
};

/// The wake-ups that are due up to `until`, as the service does them.
void pass(Core& core, Instant until, Level level, Ran& ran) {
    for (Instant due = core.next_deadline(); due <= until; due = core.next_deadline()) {
        core.feed(LevelRead{due, level});
        core.advance(due);
        ++ran.wakes;
        while (const auto action = core.take_action()) {
            ++ran.actions;
            if (std::holds_alternative<Ask>(*action)) {
                ++ran.asks;
                core.feed(Answer{due, AnswerKind::refused});
            } else if (const auto* run = std::get_if<RunResync>(&*action)) {
                core.feed(Resync{due, level, run->why, 0});
            }
        }
        while (core.take_note()) {
        }
    }
}

Ran run_samples(std::uint64_t seed, std::uint64_t count) {
    Dice dice(seed);
    Settings settings = small_settings();
    settings.grace = 200ms;
    Core core(std::make_shared<const Settings>(settings));
    Instant now = line_start;
    Level level = Level::inactive;
    Ran ran;
    const std::size_t before = allocations.load();
    const auto begun = std::chrono::steady_clock::now();
    core.feed(Resync{now, level, ResyncWhy::start, 0});
    for (; ran.samples < count; ++ran.samples) {
        const std::uint64_t scale = std::uint64_t{1} << dice.below(30);  // up to 1 s
        now += Duration(static_cast<std::int64_t>(dice.below(scale) + 100'000));
        pass(core, now, level, ran);
        level = dice.one_in(8) ? level : !level;
        core.feed(Sample{now, level});
    }
    pass(core, now + 1min, level, ran);
    ran.took = std::chrono::steady_clock::now() - begun;
    ran.allocations = allocations.load() - before;
    return ran;
}

}  // namespace

TEST_CASE("a hundred thousand random samples take less than a second and no allocation", "[cost]") {
    const Ran ran = run_samples(seed_for("cost"), 100'000);
    std::cout << ran.samples << " samples, " << ran.wakes << " wake-ups, " << ran.actions
              << " actions, " << ran.asks << " requests, " << ran.allocations << " allocations, "
              << ran.took.count() * 1e3 << " ms" << std::endl;
    CHECK(ran.samples == 100'000);
    CHECK(ran.wakes > 1'000);
    CHECK(ran.asks > 30);
    CHECK(ran.allocations == 0);
    if (!shortened) {
        CHECK(ran.took.count() < 1.0);
    }
}

TEST_CASE("the counter counts: a copy of settings with a stage allocates", "[cost]") {
    const Settings settings = small_settings();
    const std::size_t before = allocations.load();
    const Settings copy = settings;  // NOLINT(performance-unnecessary-copy-initialization)
    CHECK(copy == settings);
    CHECK(allocations.load() > before);
}
