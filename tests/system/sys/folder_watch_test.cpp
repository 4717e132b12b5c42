// SPDX-License-Identifier: MIT
#include "daemon/sys/folder_watch.hpp"
#include "support/temporary_directory.hpp"

#include <fstream>
#include <utility>

#include <catch2/catch_test_macros.hpp>
#include <poll.h>
#include <sys/stat.h>

using namespace nightlatch;
using sys::FolderWatch;
using test::TemporaryDirectory;

namespace {

Result<FolderWatch> watch(const std::string& folder) {
    return FolderWatch::open(folder, "gpiochip", FolderWatch::News::entries);
}

bool readable(int fd) {
    pollfd state{fd, POLLIN, 0};
    return poll(&state, 1, 0) == 1;
}

void create(const std::string& path) {
    const std::ofstream file(path);
}

}  // namespace

TEST_CASE("a chip that comes, is given to a group, or goes is news", "[folder]") {
    const TemporaryDirectory dev;
    auto devices = watch(dev.path());
    REQUIRE(devices);
    CHECK_FALSE(readable(devices->fd()));
    CHECK_FALSE(devices->changed());

    const std::string node = dev.path() + "/gpiochip3";
    create(node);
    CHECK(readable(devices->fd()));
    CHECK(devices->changed());
    CHECK_FALSE(readable(devices->fd()));
    CHECK_FALSE(devices->changed());

    REQUIRE(chmod(node.c_str(), 0660) == 0);
    CHECK(devices->changed());
    REQUIRE(std::remove(node.c_str()) == 0);
    CHECK(devices->changed());
}

TEST_CASE("other devices are no news, but are taken all the same", "[folder]") {
    const TemporaryDirectory dev;
    auto devices = watch(dev.path());
    REQUIRE(devices);
    for (int i = 0; i < 500; ++i) {
        create(dev.path() + "/ttyUSB" + std::to_string(i));
    }
    CHECK(readable(devices->fd()));
    CHECK_FALSE(devices->changed());
    CHECK_FALSE(readable(devices->fd()));
    create(dev.path() + "/ttyS9");
    create(dev.path() + "/gpiochip0");
    create(dev.path() + "/ttyS8");
    CHECK(devices->changed());
}

TEST_CASE("a watch can be moved, and a folder that is not there cannot be watched", "[folder]") {
    const TemporaryDirectory dev;
    auto devices = watch(dev.path());
    REQUIRE(devices);
    FolderWatch moved = std::move(*devices);
    create(dev.path() + "/gpiochip0");
    CHECK(moved.changed());
    const auto none = watch(dev.path() + "/none");
    REQUIRE_FALSE(none);
    CHECK(none.error().trouble == Trouble::other);
}

TEST_CASE("what was written is news only where contents count", "[folder]") {
    const TemporaryDirectory folder;
    const std::string path = folder.path() + "/nightlatch.toml";
    create(path);
    auto entries = FolderWatch::open(folder.path(), "nightlatch", FolderWatch::News::entries);
    auto contents = FolderWatch::open(folder.path(), "nightlatch", FolderWatch::News::contents);
    REQUIRE(entries);
    REQUIRE(contents);
    std::ofstream(path, std::ios::app) << "x";
    CHECK_FALSE(entries->changed());
    CHECK(contents->changed());
    CHECK_FALSE(contents->changed());
    create(folder.path() + "/other");
    CHECK_FALSE(contents->changed());
}
