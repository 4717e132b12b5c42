// SPDX-License-Identifier: MIT
// What `nightlatch check` says of a logbook that is elsewhere.
#include "base/account.hpp"
#include "run_tool.hpp"
#include "support/temporary_directory.hpp"

#include <filesystem>
#include <regex>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;
using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

/// A system's root whose configuration has the logbook there.
struct LogbookAt {
    TemporaryDirectory image;
    std::string root = image.path();

    explicit LogbookAt(const std::string& path) {
        fs::create_directories(root + "/etc/nightlatch");
        fs::create_directories(root + "/etc/tmpfiles.d");
        fs::create_directories(root + "/etc/polkit-1/rules.d");
        write(root + "/etc/passwd",
              "root:x:0:0::/root:/bin/sh\n" + service_account_name() +
                  ":x:990:990::/:/bin/false\n");
        write(root + "/etc/group", "root:x:0:\n" + service_account_name() + ":x:990:\n");
        const std::string config = root + "/etc/nightlatch/nightlatch.toml";
        write(config,
              "[button]\nchip = \"soc-gpio\"\nline = 17\npressed = \"low\"\n\n[[feedback]]\n"
              "led = \"lid\"\nready = \"on\"\n\n[[stage]]\nname = \"off\"\nhold = \"3 s\"\n"
              "action = \"power-off\"\n\n[logbook]\npath = \"" +
                  path + "\"\n");
        fs::permissions(config, fs::perms(0644));
    }

    [[nodiscard]] std::string said(const std::string& option = "") const {
        return run_tool("check --root " + root + " " + option).out;
    }

    [[nodiscard]] std::string install() const {
        return Json::parse(said("--json"))["install"].get<std::string>();
    }

    /// Pastes it into a shell, on this root: nothing of this machine is asked.
    void paste(std::string text) const {
        text = std::regex_replace(text, std::regex("sudo (systemctl|systemd-tmpfiles).*"), ":");
        text = std::regex_replace(text, std::regex("sudo "), "");
        write(root + "/pasted", std::regex_replace(text, std::regex("/etc/"), root + "/etc/"));
        REQUIRE(run_program("/bin/sh", "-e " + root + "/pasted").status == 0);
    }
};

const std::string not_reached =
    "warning: logbook.path: the units that write the logbook do not reach";

}  // namespace

TEST_CASE("a logbook in the units' own folder asks for nothing more", "[tool]") {
    for (const char* path :
         {"/var/lib/nightlatch/logbook.jsonl", "/var/lib/nightlatch/runs.jsonl"}) {
        const LogbookAt image(path);
        CHECK(image.install().empty());
        CHECK_THAT(image.said(), !ContainsSubstring("warning"));
        CHECK_THAT(image.said(), ContainsSubstring("logbook     " + std::string(path)));
    }
}

TEST_CASE("a logbook elsewhere: what the units lack, to be pasted, and then nothing more",
          "[tool]") {
    const LogbookAt image("/data/tide-log/runs.jsonl");
    const std::string install = image.install();
    CHECK_THAT(image.said(), ContainsSubstring(not_reached + " /data/tide-log"));
    CHECK_THAT(image.said(), ContainsSubstring("\n" + install + "\n"));
    image.paste(install);
    for (const char* unit : {"nightlatch-started", "nightlatch-ended"}) {
        CHECK(content(image.root + "/etc/systemd/system/" + unit + ".service.d/logbook.conf") ==
              "[Unit]\nAfter=data.mount data-tide\\x2dlog.mount\n\n[Service]\n"
              "ReadWritePaths=-/data/tide-log\nNoExecPaths=-/data/tide-log\n");
    }
    const std::string& account = service_account_name();
    CHECK(content(image.root + "/etc/tmpfiles.d/nightlatch-logbook-elsewhere.conf") ==
          "d /data/tide-log 0755 " + account + " " + account + " -\n");

    // The drop-ins are there; the folder is made by the next boot.
    const std::string left = image.install();
    CHECK_THAT(left, !ContainsSubstring("logbook.conf"));
    CHECK_THAT(left, ContainsSubstring("tmpfiles.d"));
    fs::create_directories(image.root + "/data/tide-log");
    fs::permissions(image.root + "/data/tide-log", fs::perms(0777));
    CHECK(image.install().empty());
    CHECK_THAT(image.said(), !ContainsSubstring("warning"));

    fs::remove(image.root + "/etc/systemd/system/nightlatch-ended.service.d/logbook.conf");
    CHECK_THAT(image.said(), ContainsSubstring(not_reached));
}

TEST_CASE("a drop-in of another name, for a folder above, will do", "[tool]") {
    const LogbookAt image("/data/tide/log/runs.jsonl");
    fs::create_directories(image.root + "/data/tide/log");
    fs::permissions(image.root + "/data/tide/log", fs::perms(0777));
    const auto drop_ins = [&image](const std::string& text) {
        for (const char* unit : {"nightlatch-started", "nightlatch-ended"}) {
            const std::string folder = image.root + "/etc/systemd/system/" + unit + ".service.d";
            fs::create_directories(folder);
            write(folder + "/card.conf", "[Service]\n" + text);
        }
        return image.install().empty();
    };
    CHECK(drop_ins("ReadWritePaths=/srv -/data/tide\n"));
    CHECK(drop_ins("ReadWritePaths=+/data/tide/log\n"));
    CHECK_FALSE(drop_ins("ReadWritePaths=/data/tid\n"));
    CHECK_FALSE(drop_ins("ReadOnlyPaths=/data/tide\n"));
}

TEST_CASE("the mounts on the way to the logbook have the names that systemd gives them", "[tool]") {
    const std::string folder = "/srv/.tide/a-b/c_d:e.f/\u00FCber@2+1~x";
    const LogbookAt image(folder + "/runs.jsonl");
    std::string names;
    for (std::size_t end = folder.find('/', 1);; end = folder.find('/', end + 1)) {
        const Ran ran =
            run_program("systemd-escape", "--path --suffix=mount '" + folder.substr(0, end) + "'");
        REQUIRE(ran.status == 0);
        names += " " + ran.out.substr(0, ran.out.find('\n'));
        if (end == std::string::npos) {
            break;
        }
    }
    CHECK_THAT(image.install(), ContainsSubstring("After=" + names.substr(1) + "\n"));
}

TEST_CASE("a folder of others is not given away: another is to be named", "[tool]") {
    const LogbookAt image("/data/runs.jsonl");
    fs::create_directories(image.root + "/data");
    fs::permissions(image.root + "/data", fs::perms(0755));
    CHECK(image.install().empty());
    CHECK_THAT(image.said(),
               ContainsSubstring(
                   "0755, and the units that write the logbook run as " + service_account_name() +
                   ": name a folder that is the logbook's alone, /data/nightlatch say"));
}
