// SPDX-License-Identifier: MIT
#include "daemon/tool/check/override_rule.hpp"
#include "run_tool.hpp"
#include "support/temporary_directory.hpp"

#include <filesystem>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using tool::OverrideRule;

namespace {

namespace fs = std::filesystem;

/// A system's root with folders of rules.
struct Root {
    test::TemporaryDirectory folder;

    [[nodiscard]] std::string rules(const std::string& base) const {
        std::string path = folder.path() + base + "/polkit-1/rules.d";
        fs::create_directories(path);
        return path;
    }

    [[nodiscard]] OverrideRule look() const { return tool::find_override_rule(folder.path()); }
};

const std::string base_rule = FILLED "/polkit/50-nightlatch.rules";
const std::string second_rule = FILLED "/polkit/nightlatch-override.rules";

}  // namespace

TEST_CASE("our second rule grants passing inhibitors, our first does not", "[override]") {
    REQUIRE_FALSE(test::content(base_rule).empty());
    CHECK(tool::grants_override(test::content(second_rule)));
    CHECK_FALSE(tool::grants_override(test::content(base_rule)));
}

TEST_CASE("what stands in comments grants nothing", "[override]") {
    CHECK(tool::grants_override("if (u == \"nightlatch\") x(\"power-off-ignore-inhibit\");"));
    CHECK(tool::grants_override("a / b; /* c */ u == 'nightlatch' && 'reboot-ignore-inhibit'"));
    CHECK_FALSE(tool::grants_override("// \"nightlatch\" \"power-off-ignore-inhibit\""));
    CHECK_FALSE(tool::grants_override("/* \"nightlatch\"\n */ \"power-off-ignore-inhibit\""));
    CHECK_FALSE(tool::grants_override("/* \"nightlatch\" \"power-off-ignore-inhibit\""));
    CHECK_FALSE(tool::grants_override("u == \"tidelogger\" \"power-off-ignore-inhibit\""));
    CHECK_FALSE(tool::grants_override(""));
}

TEST_CASE("a system without polkit has no rule", "[override]") {
    CHECK(Root().look().state == OverrideRule::State::absent);
}

TEST_CASE("the rule is found in every folder that polkit reads, under any name", "[override]") {
    for (const char* base : {"/etc", "/run", "/usr/local/share", "/usr/share"}) {
        INFO(base);
        const Root root;
        fs::copy_file(base_rule, root.rules("/usr/share") + "/50-nightlatch.rules");
        CHECK(root.look().state == OverrideRule::State::absent);
        const std::string file = root.rules(base) + "/60-ours.rules";
        fs::copy_file(second_rule, file);
        CHECK(root.look().state == OverrideRule::State::installed);
        CHECK(root.look().where == file);
    }
}

TEST_CASE("a file that polkit does not read is not a rule", "[override]") {
    const Root root;
    fs::copy_file(second_rule, root.rules("/etc") + "/nightlatch-override.rules.off");
    CHECK(root.look().state == OverrideRule::State::absent);
}

TEST_CASE("what cannot be read is said, unless the rule stands elsewhere", "[override]") {
    const Root root;
    const std::string unreadable = root.rules("/etc") + "/10-folder.rules";
    fs::create_directory(unreadable);
    CHECK(root.look().state == OverrideRule::State::cannot_tell);
    CHECK(root.look().where == unreadable);
    fs::copy_file(second_rule, root.rules("/usr/share") + "/nightlatch-override.rules");
    CHECK(root.look().state == OverrideRule::State::installed);
}
