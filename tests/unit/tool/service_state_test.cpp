// SPDX-License-Identifier: MIT
#include "daemon/tool/client/read_state.hpp"
#include "daemon/tool/client/service_state.hpp"
#include "support/fake_service.hpp"

#include <cmath>
#include <fstream>
#include <iterator>
#include <limits>
#include <regex>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::tool;
using namespace std::chrono_literals;

namespace {

ServiceState hold() {
    ServiceState state;
    state.cue = "holding";
    state.since = Instant{10s};
    state.until = Instant{13s};
    state.stages = {{"off", 3s, "power-off"}, {"start again", 10s, "reboot"}};
    return state;
}

/// "Cue s", from the published interface, in its order.
std::vector<std::string> published() {
    std::ifstream file(TREE "/systemd/org.nightlatch.Nightlatch1.xml");
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    const std::regex form("<property name=\"(\\w+)\" type=\"([^\"]+)\"");
    std::vector<std::string> all;
    for (std::sregex_iterator at(text.begin(), text.end(), form); at != std::sregex_iterator();
         ++at) {
        all.push_back((*at)[1].str() + " " + (*at)[2].str());
    }
    return all;
}

}  // namespace

TEST_CASE("each property of the published interface is read, with its type", "[client]") {
    std::vector<std::string> read;
    for (const PropertyRead& one : properties_read()) {
        read.push_back(std::string(one.name) + " " + std::string(one.signature));
    }
    CHECK(read.size() == 14);
    CHECK(read == published());
    CHECK(test::fake_properties() == published());
}

TEST_CASE("the next stage of a hold follows the one that is reached", "[client]") {
    ServiceState state = hold();
    REQUIRE(next_stage(state) != nullptr);
    CHECK(next_stage(state)->name == "off");
    state.stage = "off";
    REQUIRE(next_stage(state) != nullptr);
    CHECK(next_stage(state)->name == "start again");
    state.stage = "start again";
    CHECK(next_stage(state) == nullptr);
    state.stages.clear();
    CHECK(next_stage(state) == nullptr);
}

TEST_CASE("a hold's progress goes from its begin to the next stage", "[client]") {
    ServiceState state = hold();
    CHECK(progress(state, Instant{9s}) == 0);
    CHECK(progress(state, Instant{11500ms}) == 0.5);
    CHECK(progress(state, Instant{13s}) == 1);
    CHECK(progress(state, Instant{20s}) == 1);
    state.until = state.since;
    CHECK(progress(state, Instant{9s}) == 1);
    state.since = Instant::min();
    state.until = Instant::max() - 1ns;
    CHECK(std::abs(progress(state, Instant{0s}) - 0.5) < 1e-6);
}

TEST_CASE("only a hold on its way and a countdown move with time", "[client]") {
    ServiceState state = hold();
    CHECK(is_moving(state, Instant{12s}));
    CHECK_FALSE(is_moving(state, Instant{13s}));
    for (const char* cue : {"ready", "countdown"}) {
        state.cue = cue;
        CHECK(is_moving(state, Instant{12s}));
    }
    for (const char* cue : {"rest", "waiting", "leaving", "refused", "stuck", "fault", "tide"}) {
        state.cue = cue;
        CHECK_FALSE(is_moving(state, Instant{12s}));
    }
    state.cue = "holding";
    state.until = never;
    CHECK_FALSE(is_moving(state, Instant{12s}));
}

TEST_CASE("a time beyond our reach is never, and the last within it is itself", "[client]") {
    CHECK(instant_of(81'000'000) == Instant{81s});
    CHECK(instant_of(std::numeric_limits<std::uint64_t>::max()) == never);
    CHECK(instant_of(9'223'372'036'854'775) == Instant{9'223'372'036'854'775us});
    CHECK(instant_of(9'223'372'036'854'776) == never);
}

TEST_CASE("what stands beside the cue does not make it another", "[client]") {
    const ServiceState one = hold();
    ServiceState other = hold();
    other.alarms = {{"battery low", true}};
    other.level = "pressed";
    CHECK(same_cue(one, other));
    other = hold();
    other.since += 1us;
    CHECK_FALSE(same_cue(one, other));
    other = hold();
    other.reason.code = "locked";
    CHECK_FALSE(same_cue(one, other));
}
