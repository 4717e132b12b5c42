// SPDX-License-Identifier: MIT
// With an account of another name whatever asks for it, or tells of it, goes by that.
#include "base/account.hpp"
#include "daemon/facts/account.hpp"
#include "daemon/facts/polkit_rule.hpp"
#include "daemon/tool/check/override_rule.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;

/// In the place of lib/base/account.cpp's.
const std::string& nightlatch::service_account_name() {
    static const std::string name("_pontoon");
    return name;
}

TEST_CASE("another account is found in its files, and ours is nobody", "[account]") {
    const std::string groups = "_pontoon:x:980:\ngpio:x:970:\nlamps:x:960:tide,_pontoon\n";
    const auto account =
        facts::service_account({"nightlatch:x:7:7::/:\n_pontoon:x:990:980::/:\n", groups});
    REQUIRE(account);
    CHECK(account->uid == 990);
    CHECK(account->groups == std::vector<gid_t>{980, 980, 970, 960});
    CHECK_FALSE(facts::service_account({"nightlatch:x:990:980::/:\n", groups}));
}

TEST_CASE("what is missing of another account is told by its name", "[account]") {
    const test::MadeFolder made;
    made.file("/etc/passwd", "nightlatch:x:990:980::/:\n");
    made.file("/etc/group", "");
    made.file("/usr/lib/sysusers.d/nightlatch.conf", "");
    CHECK_THAT(facts::read_service_account(made.root()).what_is_missing(),
               ContainsSubstring("the account _pontoon"));
    CHECK_THAT(facts::account_of_image(made.root()).exists.what_is_missing(),
               ContainsSubstring("the account _pontoon"));
}

TEST_CASE("a polkit rule for our account grants another nothing", "[account]") {
    const test::MadeFolder made;
    const std::string file = "/usr/share/polkit-1/rules.d/50-nightlatch.rules";
    made.file(file, "if (subject.user == \"nightlatch\") {");
    CHECK_THAT(facts::power_off_by_rule(made.root()).what_is_missing(),
               ContainsSubstring("for the account _pontoon"));
    made.file(file, "if (subject.user == \"_pontoon\") {");
    CHECK(*facts::power_off_by_rule(made.root()) == "yes");

    CHECK(tool::grants_override("u == \"_pontoon\" && \"power-off-ignore-inhibit\""));
    CHECK(tool::grants_override("u == '_pontoon' && \"power-off-ignore-inhibit\""));
    CHECK_FALSE(tool::grants_override("u == \"nightlatch\" && \"power-off-ignore-inhibit\""));
}
