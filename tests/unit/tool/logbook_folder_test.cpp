// SPDX-License-Identifier: MIT
// The logbook's writer on a real folder.
#include "daemon/tool/logbook/folder.hpp"
#include "logbook/record_text.hpp"
#include "logbook/write.hpp"
#include "support/temporary_directory.hpp"
#include "unit/logbook/made.hpp"

#include <csignal>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <fcntl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::logbook;
using Catch::Matchers::ContainsSubstring;
using tool::Folder;

namespace {

const Place place{"tide.jsonl", 2};

std::string bytes_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

unsigned mode_of(const std::string& path) {
    struct stat status {};

    REQUIRE(lstat(path.c_str(), &status) == 0);
    return status.st_mode & 07777U;
}

void run(ports::Disk& disk, unsigned boot) {
    REQUIRE(append_started(disk, place, test::started(boot)));
    REQUIRE(append_ended(disk, place, test::ended(boot)));
}

/// A file may grow to so many bytes; what would be more is refused, as on a full disk.
class Room {
public:
    explicit Room(rlim_t bytes) : before_(std::signal(SIGXFSZ, SIG_IGN)) {
        getrlimit(RLIMIT_FSIZE, &limit_);
        const rlimit less{bytes, limit_.rlim_max};
        setrlimit(RLIMIT_FSIZE, &less);
    }

    Room(const Room&) = delete;
    Room& operator=(const Room&) = delete;

    ~Room() {
        setrlimit(RLIMIT_FSIZE, &limit_);
        std::signal(SIGXFSZ, before_);
    }

private:
    using Handler = void (*)(int);
    Handler before_;
    rlimit limit_{};
};

}  // namespace

TEST_CASE("runs are written to a folder, and read back from it", "[logbook]") {
    const test::TemporaryDirectory room;
    for (unsigned boot = 1; boot <= 5; ++boot) {
        const auto folder = Folder::open(room.path());
        REQUIRE(folder);
        run(**folder, boot);
    }
    const auto folder = Folder::open(room.path());
    const auto contents = read_contents(**folder, place);
    REQUIRE(contents);
    CHECK(contents->older.records.size() == 4);
    CHECK(contents->current.records.size() == 2);
    CHECK(bytes_of(room.path() + "/tide.jsonl").starts_with("{\"length\":"));
    CHECK(access((room.path() + "/tide.jsonl.new").c_str(), F_OK) != 0);
}

TEST_CASE("everybody may read the files, whatever the umask", "[logbook]") {
    const test::TemporaryDirectory room;
    const mode_t before = umask(077);
    run(**Folder::open(room.path()), 1);
    umask(before);
    CHECK(mode_of(room.path() + "/tide.jsonl") == 0644);
}

TEST_CASE("there is one writer at a time, and the next one waits no longer than it is told",
          "[logbook]") {
    const test::TemporaryDirectory room;
    {
        const auto first = Folder::open(room.path());
        REQUIRE(first);
        const auto second = Folder::open(room.path(), std::chrono::milliseconds(30));
        REQUIRE_FALSE(second);
        CHECK(second.error().trouble == Trouble::busy);
        CHECK_THAT(second.error().text, ContainsSubstring("another program writes"));
    }
    CHECK(Folder::open(room.path(), Duration{}));
}

TEST_CASE("what is not a regular file of the folder is told, and not opened through", "[logbook]") {
    const test::TemporaryDirectory room;
    const std::string file = room.path() + "/tide.jsonl";
    const std::string elsewhere = room.path() + "/elsewhere";
    std::ofstream(elsewhere) << "kept\n";
    const auto folder = Folder::open(room.path());
    REQUIRE(symlink(elsewhere.c_str(), file.c_str()) == 0);
    CHECK_FALSE(append_started(**folder, place, test::started(1)));
    REQUIRE(symlink(elsewhere.c_str(), (file + ".new").c_str()) == 0);
    REQUIRE(unlink(file.c_str()) == 0);
    CHECK_FALSE(append_started(**folder, place, test::started(1)));
    CHECK(bytes_of(elsewhere) == "kept\n");
    REQUIRE(mkfifo(file.c_str(), 0600) == 0);
    const auto fifo = append_started(**folder, place, test::started(1));
    CHECK_THAT(fifo.error().text, ContainsSubstring("no regular file"));
    CHECK_FALSE(Folder::open(room.path() + "/none"));
    CHECK_FALSE(Folder::open(elsewhere));
}

TEST_CASE("a disk that is full is told, and the next record is a line of its own", "[logbook]") {
    const test::TemporaryDirectory room;
    const auto folder = Folder::open(room.path());
    REQUIRE(append_started(**folder, place, test::started(1)));
    {
        const Room little(line_of(test::started(1)).size() + 20);
        const auto refused = append_ended(**folder, place, test::ended(1));
        REQUIRE_FALSE(refused);
        CHECK(refused.error().number == EFBIG);
    }
    REQUIRE(append_ended(**folder, place, test::ended(1)));
    const auto contents = read_contents(**folder, place);
    CHECK(contents->current.records.size() == 2);
    REQUIRE(contents->current.unread.size() == 1);
    CHECK(contents->current.unread[0].bytes == 21);
}

// With relatime, the usual way to mount [mount(8)], the first reading after a write would be
// written down: 12 KiB to a card of ext4, by the emulator's log of the virtual board.
TEST_CASE("that the logbook was read is not written to the card", "[logbook]") {
    const test::TemporaryDirectory directory;
    const auto folder = Folder::open(directory.path());
    REQUIRE(folder);
    run(**folder, 1);
    const std::string file = directory.path() + "/" + place.file;
    const timespec old[2] = {{1'000, 0}, {2'000, 0}};
    REQUIRE(utimensat(AT_FDCWD, file.c_str(), old, 0) == 0);
    REQUIRE((*folder)->read(place.file));

    struct stat status {};

    REQUIRE(stat(file.c_str(), &status) == 0);
    CHECK(status.st_atim.tv_sec == 1'000);
}
