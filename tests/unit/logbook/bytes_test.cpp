// SPDX-License-Identifier: MIT
#include "logbook/book.hpp"
#include "logbook/read.hpp"
#include "logbook/record_text.hpp"
#include "support/allocations.hpp"
#include "support/seeds.hpp"
#include "unit/logbook/made.hpp"

#include <ctime>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::logbook;

namespace {

std::string drawn_text(test::Dice& dice) {
    std::string text;
    const std::vector<std::string> parts{
        "tide", "\"", "\\", "\n", "\x01", "{", "}", "[]", ":", "\u2026", ""};
    for (auto left = dice.below(8); left > 0; --left) {
        text += dice.pick(parts);
    }
    return text;
}

std::optional<Instant> drawn_instant(test::Dice& dice) {
    return dice.one_in(3)
               ? std::nullopt
               : std::optional(Instant(std::chrono::microseconds(dice.below(1ULL << 52U))));
}

RunId drawn_run(test::Dice& dice) {
    return {1 + dice.below(1'000), test::boot_id(static_cast<unsigned>(1 + dice.below(1'000)))};
}

Stamp drawn_stamp(test::Dice& dice) {
    Stamp stamp{drawn_instant(dice).value_or(Instant{}), {}};
    if (dice.one_in(2)) {
        stamp.day = DayClock::time_point(std::chrono::microseconds(dice.below(1ULL << 53U)));
    }
    return stamp;
}

Started drawn_start(test::Dice& dice) {
    Started record{
        drawn_run(dice), drawn_stamp(dice), drawn_text(dice), drawn_text(dice), {}, {}, {}};
    if (dice.one_in(2)) {
        record.before = drawn_run(dice);
    }
    for (auto left = dice.below(3); left > 0; --left) {
        record.file_systems.push_back({drawn_text(dice), drawn_text(dice), dice.one_in(2)});
    }
    for (auto left = dice.below(4); left > 0; --left) {
        record.evidence.push_back({static_cast<Looker>(dice.below(6)),
                                   static_cast<Saw>(dice.below(5)),
                                   drawn_text(dice),
                                   drawn_text(dice),
                                   drawn_text(dice)});
    }
    return record;
}

Record drawn_record(test::Dice& dice) {
    switch (dice.below(3)) {
    case 0:
        return drawn_start(dice);
    case 1: {
        Ended record{drawn_run(dice), drawn_stamp(dice), drawn_text(dice), {}};
        if (dice.one_in(2)) {
            record.summary = Summary{dice.below(100),
                                     dice.below(100),
                                     dice.below(100),
                                     drawn_text(dice),
                                     drawn_text(dice),
                                     drawn_instant(dice),
                                     drawn_instant(dice),
                                     drawn_instant(dice)};
        }
        return record;
    }
    default:
        return Witnessed{drawn_run(dice), drawn_stamp(dice), drawn_text(dice), drawn_text(dice)};
    }
}

/// What it takes to read so many records and to put them in order, for each of them.
struct Cost {
    double allocations = 0;
    double bytes = 0;    ///< held at most, all of them together
    double seconds = 0;  ///< of the processor
};

double processor_seconds() {
    timespec now{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

Cost cost_of(unsigned records) {
    std::string text;
    for (unsigned run = 1; run <= records / 2; ++run) {
        text += line_of(test::started(run)) + line_of(test::ended(run));
    }
    const std::size_t before = test::allocations();
    const std::size_t held = test::held();
    const double began = processor_seconds();
    test::forget_most();
    const Book book = book_of(read_records(text).records, "");
    CHECK(book.runs.size() == records / 2);
    return {static_cast<double>(test::allocations() - before) / records,
            static_cast<double>(test::most_held() - held) / records,
            (processor_seconds() - began) / records};
}

}  // namespace

TEST_CASE("whatever is written down is read as it was", "[logbook]") {
    test::Dice dice(test::seed_for("logbook records"));
    for (int i = 0; i < 5'000; ++i) {
        const Record record = drawn_record(dice);
        const FileRead read = read_records(line_of(record));
        INFO(line_of(record));
        REQUIRE(read.records == std::vector<Record>{record});
    }
}

TEST_CASE("damage to some lines costs those lines alone", "[logbook]") {
    test::Dice dice(test::seed_for("logbook damage"));
    for (int i = 0; i < 1'000; ++i) {
        std::string text;
        std::vector<Record> sound;
        for (auto left = 1 + dice.below(8); left > 0; --left) {
            const Record record = drawn_record(dice);
            std::string line = line_of(record);
            if (dice.one_in(3)) {
                const auto at = static_cast<std::size_t>(dice.below(line.size() - 1));
                line[at] = static_cast<char>(line[at] ^ (1 << dice.below(8)));
            } else {
                sound.push_back(record);
            }
            text += line;
        }
        INFO(text);
        REQUIRE(read_records(text).records == sound);
    }
}

TEST_CASE("any bytes are read, and told by line and length", "[logbook]") {
    test::Dice dice(test::seed_for("logbook bytes"));
    for (int i = 0; i < 5'000; ++i) {
        std::string text;
        for (auto left = dice.below(300); left > 0; --left) {
            text += static_cast<char>(dice.one_in(9) ? '\n' : dice.below(256));
        }
        const FileRead read = read_records(text);
        std::size_t bytes = 0;
        for (const Unread& one : read.unread) {
            bytes += one.bytes;
        }
        REQUIRE(read.records.empty());
        REQUIRE(bytes == text.size());
        REQUIRE(read.whole == (text.empty() || text.back() == '\n'));
    }
}

TEST_CASE("reading costs as much for each record, of ten or of a hundred thousand", "[logbook]") {
    const Cost each = cost_of(1'000);
    for (const unsigned records : {10U, 100U, 10'000U, 100'000U}) {
        const Cost of_these = cost_of(records);
        INFO(records << ": for each " << of_these.allocations << " allocations, " << of_these.bytes
                     << " bytes, " << of_these.seconds << " s");
        CHECK(of_these.allocations < each.allocations * 1.1 + 20.0 / records);
        // A list that doubles when it is full holds twice and a half of what it needs for a moment.
        CHECK(of_these.bytes < each.bytes * 2.5 + 20'000.0 / records);
        // Of ten times as many records a time that grows with the square is ten times as long for
        // each, and a hundred times for a hundred times as many. Machines are noisy, so no finer.
        CHECK((records < 10'000 || of_these.seconds < each.seconds * 5));
    }
}
