// SPDX-License-Identifier: MIT
#include "rehearsal/bounce.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"

#include <array>
#include <charconv>
#include <numeric>

namespace nightlatch::rehearsal {

namespace {

using namespace std::chrono_literals;

constexpr DurationRange bounce_range{1us, 1s};
constexpr std::array<std::string_view, 2> bounce_keys{"press", "release"};

Bounce read_list(const config::Array& array,
                 const config::Placed<std::string>& key,
                 config::Reader& reader) {
    Bounce bounce;
    for (const config::Value& one : array) {
        if (const auto length = reader.duration_in(one, key.value, bounce_range)) {
            bounce.push_back(length->value);
        }
    }
    if (array.size() % 2 != 0) {
        reader.error(key.place,
                     key.value,
                     "has " + std::to_string(array.size()) +
                         " in its list; expected pairs: how long the contact stays, how long it "
                         "drops back");
    }
    return bounce;
}

Bounce read_bounce(const config::Section& section, std::string_view key, config::Reader& reader) {
    const config::Entry* entry = find(*section.table, key);
    if (entry == nullptr) {
        return {};
    }
    const std::string name = full_key(section, key);
    if (const auto* array = std::get_if<config::Array>(&entry->value.data)) {
        return read_list(*array, {name, entry->value.place}, reader);
    }
    const std::string* text =
        reader.text_in(entry->value, name, R"("5 x 1 ms", or a list: ["2 ms", "1 ms"])");
    if (text == nullptr) {
        return {};
    }
    const auto bounce = parse_bounce(*text);
    if (!bounce) {
        reader.error(entry->value.place, name, bounce.error());
        return {};
    }
    return *bounce;
}

}  // namespace

std::pair<Bounce, Bounce> read_bounces(const config::Section& press, config::Reader& reader) {
    const config::Entry* entry = find(*press.table, "bounce");
    if (entry == nullptr) {
        return {};
    }
    const std::string key = full_key(press, "bounce");
    const auto* table = std::get_if<config::Table>(&entry->value.data);
    if (table == nullptr) {
        reader.error(entry->value.place,
                     key,
                     "is " + std::string(kind_of(entry->value)) +
                         R"(; expected { press = "5 x 1 ms", release = "5 x 1 ms" })");
        return {};
    }
    const config::Section both{key, table, entry->value.place};
    reader.only(both, bounce_keys);
    return {read_bounce(both, "press", reader), read_bounce(both, "release", reader)};
}

Result<Bounce, std::string> parse_bounce(std::string_view text) {
    constexpr unsigned most = 20'000;
    const auto bad = [text](std::string_view why) {
        return Unexpected{in_quotes(text) + std::string(why) +
                          R"(; expected a count and a duration: "5 x 1 ms")"};
    };
    unsigned count = 0;
    const char* end = text.data() + text.size();
    const auto number = std::from_chars(text.data(), end, count);
    text = text.substr(static_cast<std::size_t>(number.ptr - text.data()));
    constexpr std::string_view times = " x ";
    if (number.ec != std::errc{} || !text.starts_with(times)) {
        return bad(" is not a bounce");
    }
    const auto length = parse_duration(text.substr(times.size()));
    if (!length) {
        return bad(" has no duration");
    }
    if (count < 1 || count > most || *length <= 0s || *length > 1s) {
        return bad(" is out of range; allowed: 1 to 20000 times, up to 1 s");
    }
    return Bounce(std::size_t{count} * 2, *length);
}

Duration length_of(const Bounce& bounce) {
    return std::accumulate(bounce.begin(), bounce.end(), Duration::zero());
}

void add_edge(std::vector<ScriptEvent>& events, Duration at, Level level, const Bounce& bounce) {
    events.push_back({at, ButtonMoves{level}});
    for (const Duration length : bounce) {
        at += length;
        level = !level;
        events.push_back({at, ButtonMoves{level}});
    }
}

}  // namespace nightlatch::rehearsal
