// SPDX-License-Identifier: MIT
// Whole units, and the whole page that is said about each: tests/golden/audit/NAME.txt.
#include "audit/report.hpp"
#include "support/good_unit.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;

namespace {

void check_page(const std::string& name, const Facts& facts, const ReportStyle& style = {}) {
    const std::string page = to_text(run(facts), style);
    const std::string path = std::string(GOLDEN_FOLDER) + "/audit/" + name + ".txt";
    if (std::getenv("UPDATE_GOLDEN") != nullptr) {
        std::ofstream(path, std::ios::binary) << page;
    }
    std::ifstream file(path, std::ios::binary);
    REQUIRE(file.is_open());
    CHECK(page == std::string(std::istreambuf_iterator<char>(file), {}));
}

}  // namespace

TEST_CASE("the page of a unit with which nothing is wrong", "[audit][golden]") {
    check_page("good", good_unit());
    check_page("good-all", good_unit(), {true, {80, false}});
}

TEST_CASE("the page of a unit without a post-halt node, with the firmware's file",
          "[audit][golden]") {
    Facts facts = good_unit();
    remove_node(facts, post_halt_node);
    bootfiles::Intent text;
    text.file = "/boot/firmware/config.txt";
    facts.boot = std::vector<bootfiles::Intent>{text};
    facts.driver.bound = std::vector<std::string>{};
    soc_line(facts, post_halt_line).used = false;
    check_page("absent", facts);
}

TEST_CASE("the page of a unit whose post-halt line is the wrong way round", "[audit][golden]") {
    Facts facts = good_unit();
    set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, post_halt_line, 1}));
    PowerKeySource key;
    key.device = "event0";
    key.name = "axp20x-pek";
    key.tagged = true;
    key.codes = {116};
    key.driver = "axp20x-pek";
    key.readers = std::vector<std::string>{"systemd-logind (612)"};
    known(facts.power_keys).push_back(key);
    known(facts.login).handle_power_key = std::string("poweroff");
    check_page("contradicted", facts);
}

TEST_CASE("the page of a unit whose circuit is not stated, seen without root", "[audit][golden]") {
    Facts facts = good_unit();
    const std::string whole = good_config();
    set_config(facts,
               whole.substr(0, whole.find("[post_halt]")) +
                   whole.substr(whole.find("[[feedback]]")));
    facts.pins = Known<lines::Pins>::missing("the pins' functions (only root may see them)");
    check_page("cannot-tell", facts);
}

TEST_CASE("the page of an image", "[audit][golden]") {
    check_page("image", as_image(good_unit()));
}
