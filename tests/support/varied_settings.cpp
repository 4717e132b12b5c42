// SPDX-License-Identifier: MIT
#include "support/varied_settings.hpp"

#include "config/load.hpp"

#include <algorithm>
#include <chrono>

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::test {
namespace {

using namespace std::chrono_literals;
using config::Key;
using config::KeyValue;
using config::Kind;

std::vector<KeyValue> other_values(const Key& key, const KeyValue& now) {
    std::vector<KeyValue> values;
    switch (key.kind) {
    case Kind::word:
        for (const std::string_view word : key.words) {
            values.emplace_back(std::string(word));
        }
        break;
    case Kind::path:
        values.emplace_back("/data/tide/runs.jsonl");
        break;
    case Kind::count:
        values.emplace_back(key.counts.least + 1);
        break;
    case Kind::duration:
        values.emplace_back(std::clamp<Duration>(4s, key.range.least, key.range.most));
        break;
    case Kind::pattern:
        values.emplace_back(core::Pattern{core::PatternKind::pulse, 70ms, 20ms});
        break;
    case Kind::chip:
    case Kind::line:
    case Kind::name:
    case Kind::led:
        values.emplace_back("another");
        break;
    }
    std::erase(values, now);
    return values;
}

}  // namespace

config::Settings whole_settings() {
    std::string text = R"([button]
chip = "soc-gpio"
line = "LID_BUTTON"
pressed = "low"

[[stage]]
name = "off"
hold = "3 s"
action = "power-off"

[post_halt]
chip = "soc-gpio"
line = "SUPPLY_RELEASE"
active = "high"
pulse = "100 ms"

[[feedback]]
led = "lid"
ready = "on"

[[feedback]]
chip = "soc-gpio"
line = "BUZZER"
refused = "pulse 50 ms 50 ms"

[[alarm]]
name = "battery low"
chip = "soc-gpio"
line = "BATTERY_LOW"
active = "low"
repeat = "5 min"

[circuit]
supply_voltage = "12 V"

[circuit.hold_up]
capacity = "10 F"
)";
    config::Loaded loaded = config::load(text);
    REQUIRE(loaded.settings);
    return *loaded.settings;
}

void for_each_varied(const std::function<void(const Varied&)>& look) {
    const config::Settings whole = whole_settings();
    for (const config::KnownSection& section : config::known_sections()) {
        for (const Key& key : section.keys) {
            INFO(full_name(section, key));
            std::size_t times = 0;
            for (std::size_t at = 0; at < section.count(whole); ++at) {
                const auto now = key.member.get(whole, at);
                for (const KeyValue& value :
                     now ? other_values(key, *now) : std::vector<KeyValue>()) {
                    Varied varied{section, key, at, value, whole};
                    key.member.set(varied.settings, at, value);
                    look(varied);
                    ++times;
                }
            }
            CHECK(times > 0);
        }
    }
}

}  // namespace nightlatch::test
