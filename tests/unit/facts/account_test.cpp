// SPDX-License-Identifier: MIT
#include "daemon/facts/account.hpp"
#include "daemon/facts/leds.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <sys/stat.h>
#include <unistd.h>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;
using facts::Account;
using facts::FileStatus;

namespace {

const facts::AccountFiles files{
    "root:x:0:0::/root:/bin/sh\nnot a line\nnightlatch:x:990:980::/:/usr/sbin/nologin\n",
    "root:x:0:\nnightlatch:x:980:\ngpio:x:970:\nlamps:x:960:tide,nightlatch\nother:x:950:tide\n"};

constexpr mode_t character = S_IFCHR;

}  // namespace

TEST_CASE("the service's groups are its own, those that list it, and the chips'", "[facts]") {
    const auto account = facts::service_account(files);
    REQUIRE(account);
    CHECK(account->uid == 990);
    CHECK(account->groups == std::vector<gid_t>{980, 980, 970, 960});
    CHECK_FALSE(facts::service_account({"nightlatch:x:many:1::/:\n", files.groups}));
    CHECK_FALSE(facts::service_account({"", files.groups}));
}

TEST_CASE("mode bits judge the owner by the owner's, a member by the group's, others last",
          "[facts]") {
    const Account account{990, {980, 970}};
    const auto may = [&](mode_t mode, uid_t uid, gid_t gid) {
        return facts::may_read_and_write(account, FileStatus{character | mode, uid, gid});
    };
    CHECK(may(0660, 0, 970));
    CHECK_FALSE(may(0660, 0, 950));
    CHECK_FALSE(may(0640, 0, 970));
    CHECK_FALSE(may(0606, 0, 970));
    CHECK(may(0606, 0, 950));
    CHECK_FALSE(may(0066, 990, 970));
    CHECK(may(0600, 990, 1));
    CHECK(facts::may_write(account, FileStatus{0620, 0, 970}));
    CHECK(facts::may_read_and_write(Account{0, {}}, FileStatus{0, 1, 1}));
}

TEST_CASE("an owner is told by names, or by numbers that have none", "[facts]") {
    CHECK(facts::owner_text(files, {character | 0660, 0, 970}) == "root:gpio 0660");
    CHECK(facts::owner_text(files, {character | 04711, 7, 8}) == "7:8 4711");
}

TEST_CASE("the account's facts say what there is and what is missing", "[facts]") {
    const test::MadeFolder made;
    const auto access = [&made] {
        return facts::read_chip_access(made.root(), {"gpiochip0", "gpiochip3"});
    };
    CHECK_THAT(facts::read_account(made.root()).exists.what_is_missing(),
               ContainsSubstring("/etc/passwd (not there)"));
    made.file("/etc/passwd", "root:x:0:0::/:/bin/sh\n");
    made.file("/etc/group", files.groups);
    CHECK_FALSE(*facts::read_account(made.root()).exists);
    CHECK_THAT(access().at(0).may_open.what_is_missing(),
               ContainsSubstring("/dev/gpiochip0 (not there)"));
    made.file("/dev/gpiochip0", "");
    REQUIRE(chmod((made.root() + "/dev/gpiochip0").c_str(), 0666) == 0);
    CHECK_THAT(access().at(0).may_open.what_is_missing(),
               ContainsSubstring("the account nightlatch"));
    made.file("/etc/passwd", files.users);
    CHECK(*facts::read_account(made.root()).exists);
    CHECK(*access().at(0).may_open);
    CHECK_THAT(access().at(0).owner, ContainsSubstring(" 0666"));
    CHECK_FALSE(access().at(1).may_open);
    CHECK(access().at(1).chip == "gpiochip3");
    CHECK_THAT(facts::read_account(made.root()).chips.what_is_missing(),
               ContainsSubstring("which chips"));
}

TEST_CASE("an image whose account is made at its first boot is not an image without one",
          "[facts]") {
    const test::MadeFolder made;
    made.file("/etc/passwd", "root:x:0:0::/:/bin/sh\n");
    made.file("/etc/group", files.groups);
    CHECK_FALSE(*facts::account_of_image(made.root()).exists);
    made.file("/usr/lib/sysusers.d/nightlatch.conf", "");
    CHECK_THAT(facts::account_of_image(made.root()).exists.what_is_missing(),
               ContainsSubstring("first boot"));
}

TEST_CASE("a trigger list names every trigger, the chosen one without its brackets", "[facts]") {
    CHECK(facts::triggers_in("none [timer] heartbeat\n") ==
          std::vector<std::string>{"none", "timer", "heartbeat"});
    CHECK(facts::triggers_in("").empty());
}

TEST_CASE("an LED is told with its node, its triggers, and who may write it", "[facts]") {
    const test::MadeFolder made;
    CHECK_FALSE(facts::read_leds(made.root()));
    const std::string folder = "/sys/devices/platform/leds/leds/front";
    made.file(folder + "/brightness", "0\n");
    made.file(folder + "/trigger", "[none] timer\n");
    made.link(folder + "/device", "../../../leds");
    made.link("/sys/devices/platform/leds/of_node", "../../../firmware/devicetree/base/leds");
    made.link("/sys/class/leds/front", "../../devices/platform/leds/leds/front");
    auto leds = facts::read_leds(made.root());
    REQUIRE(leds->size() == 1);
    CHECK(leds->front().name == "front");
    CHECK(leds->front().node == "/leds");
    CHECK(leds->front().triggers == std::vector<std::string>{"none", "timer"});
    CHECK_FALSE(leds->front().writable_by_service);

    made.file("/etc/passwd", "nightlatch:x:64123:64123::/:\n");
    made.file("/etc/group", "");
    made.link(folder + "/of_node", "../../../../../firmware/devicetree/base/leds/front");
    const auto mode = [&](const char* file, mode_t bits) {
        REQUIRE(chmod((made.root() + folder + file).c_str(), bits) == 0);
    };
    mode("/brightness", 0666);
    mode("/trigger", 0644);
    leds = facts::read_leds(made.root());
    CHECK(leds->front().node == "/leds/front");
    CHECK_FALSE(*leds->front().writable_by_service);
    mode("/trigger", 0666);
    CHECK(*facts::read_leds(made.root())->front().writable_by_service);
}
