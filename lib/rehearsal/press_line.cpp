// SPDX-License-Identifier: MIT
#include "base/duration_text.hpp"
#include "base/nearest.hpp"
#include "base/text.hpp"
#include "rehearsal/bounce.hpp"
#include "rehearsal/press_script.hpp"

#include <array>
#include <charconv>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

using namespace std::chrono_literals;

using Typed = Result<TypedLine, std::string>;

Typed bad(std::string text) {
    return Unexpected{std::move(text)};
}

Typed events(std::vector<ScriptEvent> list) {
    return TypedLine{TypedLine::Kind::events, std::move(list)};
}

Typed moves(Level level, Level now, std::string_view rest) {
    const std::string_view name = level == Level::active ? "press" : "release";
    const bool already = level == now;
    if (already) {
        return bad(level == Level::active ? "the button is pressed already; release it first"
                                          : "the button is released already; press it first");
    }
    if (rest.empty()) {
        return events({{0s, ButtonMoves{level}}});
    }
    const auto held = parse_duration(rest);
    if (!held || *held <= 0s || level == Level::inactive) {
        return bad(in_quotes(rest) + " after " + std::string(name) + "; expected " +
                   (level == Level::active ? R"("press", or "press 3 s")" : R"("release" alone)"));
    }
    return events({{0s, ButtonMoves{level}}, {*held, ButtonMoves{!level}}});
}

Typed bounces(Level now, std::string_view rest) {
    const auto bounce = parse_bounce(rest);
    if (!bounce) {
        return bad(bounce.error());
    }
    std::vector<ScriptEvent> list;
    add_edge(list, 0s, !now, {bounce->begin(), bounce->end() - 1});
    return events(std::move(list));
}

Typed glitches(Level now, std::string_view rest) {
    const auto length = parse_duration(rest);
    if (!length || *length <= 0s) {
        return bad(in_quotes(rest) + R"( after glitch; expected a duration: "glitch 2 ms")");
    }
    return events({{0s, ButtonMoves{!now}}, {*length, ButtonMoves{now}}});
}

Typed drops(std::string_view rest) {
    std::uint32_t count = 0;
    const auto number = std::from_chars(rest.data(), rest.data() + rest.size(), count);
    if (number.ec != std::errc{} || number.ptr != rest.data() + rest.size() || count < 1 ||
        count > most_script_events) {
        return bad(in_quotes(rest) + R"( after drop; expected a count: "drop 3")");
    }
    return events({{0s, DropEvents{count}}});
}

Typed alone(std::string_view word, std::string_view rest) {
    if (!rest.empty()) {
        return bad(in_quotes(word) + " takes nothing after it");
    }
    if (word == "vanish") {
        return events({{0s, ChipFault::vanish}});
    }
    if (word == "return") {
        return events({{0s, ChipFault::comes_back}});
    }
    return TypedLine{word == "quit" ? TypedLine::Kind::quit : TypedLine::Kind::help, {}};
}

}  // namespace

Result<TypedLine, std::string> parse_press_line(std::string_view line, Level now) {
    line = trimmed(line);
    const std::string_view word = line.substr(0, line.find_first_of(white_space));
    const std::string_view rest = trimmed(line.substr(word.size()));
    if (word == "press" || word == "release") {
        return moves(word == "press" ? Level::active : Level::inactive, now, rest);
    }
    if (word == "bounce") {
        return bounces(now, rest);
    }
    if (word == "glitch") {
        return glitches(now, rest);
    }
    if (word == "drop") {
        return drops(rest);
    }
    if (word == "note") {
        return rest.empty() ? bad("expected a text after note")
                            : events({{0s, Remark{safe(rest)}}});
    }
    constexpr std::array<std::string_view, 10> words{
        "press", "release", "bounce", "glitch", "drop", "vanish", "return", "note", "help", "quit"};
    if (word == "vanish" || word == "return" || word == "help" || word == "quit") {
        return alone(word, rest);
    }
    if (word.empty()) {
        return bad("nothing typed; help lists the commands");
    }
    const auto near = nearest(word, words);
    return bad(in_quotes(word) + " is not a command (help lists them)" +
               (near ? "; did you mean " + in_quotes(*near) + "?" : ""));
}

std::string_view press_line_help() noexcept {
    return "press              press the button and keep it pressed\n"
           "press 3 s          press, and release after 3 s\n"
           "release            let go\n"
           "bounce 5 x 1 ms    five drop-outs of 1 ms, 1 ms apart\n"
           "glitch 2 ms        the other level for 2 ms\n"
           "drop 3             lose the next 3 edge events\n"
           "vanish             unplug the chip\n"
           "return             plug it in again\n"
           "note TEXT          write a remark into the commentary\n"
           "quit               end\n";
}

}  // namespace nightlatch::rehearsal
