// SPDX-License-Identifier: MIT
#include "logbook/record_text.hpp"
#include "logbook/write.hpp"
#include "unit/logbook/crash_disk.hpp"
#include "unit/logbook/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::logbook;
using Catch::Matchers::ContainsSubstring;

namespace {

const Place place{"tide.jsonl", 3};

/// A disk whose calls are written down, and that can be full or broken.
class TellingDisk : public test::CrashDisk {
public:
    explicit TellingDisk(const test::Image& image = {}) : CrashDisk(image) {}

    Result<std::optional<std::string>> read(const std::string& name) override {
        if (name == unreadable) {
            return Unexpected{Error{Trouble::other, name + ": Input/output error", 5}};
        }
        return CrashDisk::read(name);
    }

    Outcome put(const std::string& name, std::string_view bytes) override {
        calls_made.push_back("put " + name);
        return CrashDisk::put(name, bytes);
    }

    Outcome append(const std::string& name, std::string_view bytes) override {
        calls_made.push_back("append " + name);
        if (room < bytes.size()) {
            (void)CrashDisk::append(name, bytes.substr(0, room));
            return Unexpected{Error{Trouble::other, "No space left on device", 28}};
        }
        return CrashDisk::append(name, bytes);
    }

    Outcome sync_data(const std::string& name) override {
        calls_made.push_back("sync_data " + name);
        return CrashDisk::sync_data(name);
    }

    Outcome sync(const std::string& name) override {
        calls_made.push_back("sync " + name);
        return CrashDisk::sync(name);
    }

    Outcome rename(const std::string& from, const std::string& to) override {
        calls_made.push_back("rename " + from + " " + to);
        return CrashDisk::rename(from, to);
    }

    Outcome sync_folder() override {
        calls_made.emplace_back("sync_folder");
        return CrashDisk::sync_folder();
    }

    std::vector<std::string> taken() { return std::exchange(calls_made, {}); }

    std::string text(const std::string& name) {
        return CrashDisk::read(name)->value_or("(not there)");
    }

    std::vector<std::string> calls_made;
    std::string unreadable;
    std::size_t room = std::string::npos;
};

Started start(unsigned boot) {
    Started record = test::started(boot);
    record.run.number = 0;
    record.before.reset();
    return record;
}

Ended end(unsigned boot) {
    Ended record = test::ended(boot);
    record.run.number = 0;
    return record;
}

void run(ports::Disk& disk, unsigned boot) {
    REQUIRE(append_started(disk, place, start(boot)));
    REQUIRE(append_ended(disk, place, end(boot)));
}

Witnessed seen_in(unsigned boot) {
    return {{0, test::boot_id(boot)}, {}, "rail to 0 V, 2.1 s", "line = 6\n"};
}

using Calls = std::vector<std::string>;

}  // namespace

TEST_CASE("the first record makes the file, which has its name when it is safe", "[logbook]") {
    TellingDisk disk;
    const auto record = append_started(disk, place, start(1));
    REQUIRE(record);
    CHECK(record->run.number == 1);
    CHECK(record->before == std::nullopt);
    CHECK(disk.taken() == Calls{"put tide.jsonl.new",
                                "sync tide.jsonl.new",
                                "rename tide.jsonl.new tide.jsonl",
                                "sync_folder"});
    CHECK(disk.text("tide.jsonl") == line_of(*record));
}

TEST_CASE("any other is appended, and safe when that is confirmed", "[logbook]") {
    TellingDisk disk;
    run(disk, 1);
    disk.taken();
    const auto record = append_started(disk, place, start(2));
    REQUIRE(record);
    CHECK(record->run.number == 2);
    CHECK(record->before == test::run_id(1));
    CHECK(disk.taken() == Calls{"append tide.jsonl", "sync_data tide.jsonl"});
}

TEST_CASE("a unit that is started again in one boot writes nothing", "[logbook]") {
    TellingDisk disk;
    const auto first = append_started(disk, place, start(1));
    disk.taken();
    const auto again = append_started(disk, place, start(1));
    REQUIRE(again);
    CHECK(*again == *first);
    CHECK(disk.taken().empty());
}

TEST_CASE("a run whose start was not written down has an end, and the next its number",
          "[logbook]") {
    TellingDisk disk;
    const auto record = append_ended(disk, place, end(1));
    REQUIRE(record);
    CHECK(record->run.number == 1);
    const auto next = append_started(disk, place, start(2));
    CHECK(next->before == test::run_id(1));
    const Book book = book_of(read_contents(disk, place)->records(), "");
    CHECK(book.runs[0].end.end == End::orderly);
}

TEST_CASE("a full file is put away, and the last runs are always there", "[logbook]") {
    TellingDisk disk;
    for (unsigned boot = 1; boot <= 20; ++boot) {
        run(disk, boot);
        const Book book = book_of(read_contents(disk, place)->records(), "");
        CHECK(book.runs.back().id == test::run_id(boot));
        CHECK(book.runs.size() >= std::min<std::size_t>(boot, place.keep));
        CHECK(book.runs.size() <= 2 * place.keep);
    }
    CHECK(disk.text("tide.jsonl.new") == "(not there)");
}

TEST_CASE("keeping no run keeps one", "[logbook]") {
    TellingDisk disk;
    for (unsigned boot = 1; boot <= 3; ++boot) {
        REQUIRE(append_started(disk, {"tide.jsonl", 0}, start(boot)));
    }
    CHECK(book_of(read_contents(disk, place)->records(), "").runs.size() == 2);
}

TEST_CASE("what was witnessed outlasts every run", "[logbook]") {
    TellingDisk disk;
    run(disk, 1);
    REQUIRE(append_started(disk, place, start(2)));
    const auto witnessed = append_witnessed(disk, place, seen_in(2));
    REQUIRE(witnessed);
    CHECK(witnessed->run == test::run_id(1));
    REQUIRE(append_ended(disk, place, end(2)));
    for (unsigned boot = 3; boot <= 40; ++boot) {
        run(disk, boot);
        const Book book = book_of(read_contents(disk, place)->records(), "");
        REQUIRE(book.runs.front().id == test::run_id(1));
        CHECK(book.runs.front().witnessed == std::vector{*witnessed});
    }
}

TEST_CASE("nothing is witnessed after a run that did not end in order", "[logbook]") {
    TellingDisk disk;
    REQUIRE(append_started(disk, place, start(1)));
    const auto none = append_witnessed(disk, place, seen_in(1));
    CHECK_THAT(none.error().text, ContainsSubstring("no run before this one"));
    REQUIRE(append_started(disk, place, start(2)));
    const auto refused = append_witnessed(disk, place, seen_in(2));
    REQUIRE_FALSE(refused);
    CHECK_THAT(refused.error().text, ContainsSubstring("run 1 ended: lost; only after an orderly"));
}

TEST_CASE("what was cut off stays a line of its own, and is told", "[logbook]") {
    TellingDisk disk({{"tide.jsonl", line_of(test::started(1)) + "{\"length\":4"}});
    run(disk, 2);
    const Contents contents = *read_contents(disk, place);
    CHECK(contents.current.records.size() == 3);
    REQUIRE(contents.current.unread.size() == 1);
    CHECK(contents.current.unread[0].line == 2);
    CHECK(contents.current.whole);
}

TEST_CASE("a full disk is told, and what comes after it is not hurt", "[logbook]") {
    TellingDisk disk;
    run(disk, 1);
    disk.room = 30;
    const auto refused = append_started(disk, place, start(2));
    REQUIRE_FALSE(refused);
    CHECK_THAT(refused.error().text, ContainsSubstring("No space left"));
    disk.room = std::string::npos;
    run(disk, 2);
    CHECK(read_contents(disk, place)->records().size() == 4);
}

TEST_CASE("a file that cannot be read is told; without the older one nothing is put away",
          "[logbook]") {
    TellingDisk disk;
    disk.unreadable = "tide.jsonl";
    CHECK_THAT(append_started(disk, place, start(1)).error().text, ContainsSubstring("error"));
    disk.unreadable = "tide.jsonl.1";
    CHECK_FALSE(append_started(disk, place, start(1)));  // nothing says which run this is
    disk.unreadable.clear();
    for (unsigned boot = 1; boot <= 3; ++boot) {
        run(disk, boot);
    }
    disk.unreadable = "tide.jsonl.1";
    disk.taken();
    run(disk, 4);
    CHECK(disk.taken()[0] == "append tide.jsonl");
    CHECK(read_contents(disk, place)->older_unreadable);
}

TEST_CASE("a number that cannot grow any more stays, and boots are still told apart", "[logbook]") {
    Started last = test::started(1);
    last.run.number = most_number;
    TellingDisk disk({{"tide.jsonl", line_of(last)}});
    const auto next = append_started(disk, place, start(2));
    REQUIRE(next);
    CHECK(next->run.number == most_number);
    CHECK(book_of(read_contents(disk, place)->records(), "").runs.size() == 2);
}
