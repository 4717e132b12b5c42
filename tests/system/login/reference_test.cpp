// SPDX-License-Identifier: MIT
// The stand-in against the real thing: systemd's own login manager prints its interface without
// running (--bus-introspect=), and what the stand-in offers must be a part of that.
#include "system/login/stage.hpp"

#include <array>
#include <cstdio>
#include <map>
#include <sstream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::test;

namespace {

std::string attribute(const std::string& line, const std::string& name) {
    const std::string start = " " + name + "=\"";
    const std::size_t from = line.find(start);
    if (from == std::string::npos) {
        return "";
    }
    const std::size_t begin = from + start.size();
    return line.substr(begin, line.find('"', begin) - begin);
}

/// "method PowerOff" to "in:b", of the Manager interface. Both texts are sd-bus's own writing: one
/// element a line.
std::map<std::string, std::string> members(const std::string& xml) {
    std::map<std::string, std::string> found;
    std::istringstream text(xml);
    std::string line;
    std::string current;
    bool in_manager = false;
    while (std::getline(text, line)) {
        if (line.find("<interface ") != std::string::npos) {
            in_manager = attribute(line, "name") == "org.freedesktop.login1.Manager";
        }
        if (!in_manager) {
            continue;
        }
        for (const char* kind : {"method", "signal", "property"}) {
            if (line.find(std::string("<") + kind + " ") != std::string::npos) {
                current = std::string(kind) + " " + attribute(line, "name");
                found[current] = attribute(line, "type");
            }
        }
        if (line.find("<arg ") != std::string::npos) {
            found[current] += attribute(line, "direction") + ":" + attribute(line, "type") + " ";
        }
    }
    return found;
}

std::string output_of(const char* command) {
    std::string text;
    std::array<char, 4096> piece{};
    FILE* pipe = popen(command, "re");
    REQUIRE(pipe != nullptr);
    std::size_t got = 0;
    while ((got = fread(piece.data(), 1, piece.size(), pipe)) > 0) {
        text.append(piece.data(), got);
    }
    REQUIRE(pclose(pipe) == 0);
    return text;
}

}  // namespace

TEST_CASE("the stand-in's interface is a part of the real login manager's") {
    const auto real = members(
        output_of("/usr/lib/systemd/systemd-logind --bus-introspect=/org/freedesktop/login1"));
    REQUIRE(real.at("method PowerOffWithFlags") == "in:t ");  // it was read at all
    Stage stage;
    stage.start_with({});
    auto fake = members(stage.ask_bus(
        "org.freedesktop.login1", "org.freedesktop.DBus.Introspectable", "Introspect"));
    REQUIRE(fake.size() == 12);
    const std::string metadata = "signal PrepareForShutdownWithMetadata";
    REQUIRE(fake.at(metadata) == ":b :a{sv} ");
    if (!real.contains(metadata)) {
        fake.erase(metadata);  // the real one here is older than 255
    }
    for (const auto& [member, signature] : fake) {
        INFO(member);
        REQUIRE(real.contains(member));
        CHECK(signature == real.at(member));
    }
}
