// SPDX-License-Identifier: MIT
#include "rehearsal/press_script.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "config/document.hpp"
#include "config/names.hpp"
#include "config/reader.hpp"
#include "rehearsal/bounce.hpp"
#include "rehearsal/script_repeats.hpp"
#include "rehearsal/script_surroundings.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

using namespace std::chrono_literals;
using nightlatch::to_text;

constexpr DurationRange moment_range{0s, 24h};
constexpr DurationRange length_range{1us, 24h};
constexpr Duration tail = 5s;  ///< of a script that does not say when it ends
constexpr std::size_t longest_note = 200;

constexpr std::array<std::string_view, 13> root_keys{"level_at_start",
                                                     "released_at",
                                                     "end",
                                                     "post_halt",
                                                     "repeat",
                                                     "every",
                                                     "press",
                                                     "glitch",
                                                     "alarm",
                                                     "fault",
                                                     "login_manager",
                                                     "service",
                                                     "expect"};
constexpr std::array<std::string_view, 4> press_keys{"note", "at", "for", "bounce"};
constexpr std::array<std::string_view, 3> glitch_keys{"note", "at", "for"};
constexpr std::array<std::string_view, 3> fault_keys{"note", "at", "kind"};
constexpr std::array start_words{config::Word<Level>{"released", Level::inactive},
                                 config::Word<Level>{"pressed", Level::active}};
constexpr std::array verdict_words{
    config::Word<core::Verdict>{"configured", core::Verdict::configured},
    config::Word<core::Verdict>{"contradicted", core::Verdict::contradicted},
    config::Word<core::Verdict>{"absent", core::Verdict::absent},
    config::Word<core::Verdict>{"cannot tell", core::Verdict::cannot_tell}};

/// One stretch of the pressed level: begin <= settled < release, all since the start.
struct Hold {
    Place place;
    Duration begin{};
    Duration settled{};  ///< the bounces of pressing are over
    Duration release = Duration::max();
    Duration over = Duration::max();  ///< the bounces of releasing are over, too
};

/// N of "drop N events".
std::optional<std::uint32_t> drop_count(std::string_view text) {
    constexpr std::string_view word = "drop ";
    if (!text.starts_with(word)) {
        return std::nullopt;
    }
    text.remove_prefix(word.size());
    std::uint32_t count = 0;
    const auto number = std::from_chars(text.data(), text.data() + text.size(), count);
    const std::string_view unit = text.substr(static_cast<std::size_t>(number.ptr - text.data()));
    if (number.ec != std::errc{} || count < 1 || count > most_script_events ||
        (unit != " events" && unit != " event")) {
        return std::nullopt;
    }
    return count;
}

/// Since the start; zero for what is of the whole run.
Duration moment_of(const Expectation& expectation) {
    return std::visit(
        [](const auto& what) {
            if constexpr (requires { what.at; }) {
                return what.at;
            } else {
                return Duration::zero();
            }
        },
        expectation.what);
}

class ScriptReader {
public:
    LoadedScript read(const config::Table& root) {
        const config::Section section{"", &root, Place{}};
        reader_.only(section, root_keys);
        read_start(section);
        each(root, "press", &ScriptReader::read_press);
        each(root, "glitch", &ScriptReader::read_glitch);
        each(root, "alarm", &ScriptReader::read_alarm_level);
        each(root, "fault", &ScriptReader::read_fault);
        each(root, "login_manager", &ScriptReader::read_login);
        each(root, "service", &ScriptReader::read_service_step);
        each(root, "expect", &ScriptReader::read_expected);
        check_turns(faults_, "fault.kind", "the chip");
        check_turns(login_, "login_manager.does", "the login manager");
        std::stable_sort(script_.events.begin(),
                         script_.events.end(),
                         [](const ScriptEvent& a, const ScriptEvent& b) { return a.at < b.at; });
        read_end(section);
        read_repeats(section, script_, reader_);
        check_expectations();
        LoadedScript loaded{std::nullopt, reader_.take()};
        if (!has_errors(loaded.diagnostics)) {
            loaded.script = std::move(script_);
        }
        return loaded;
    }

private:
    void each(const config::Table& root,
              std::string_view name,
              void (ScriptReader::*read_one)(const config::Section&)) {
        if (const auto sections = all_sections(root, name, reader_)) {
            for (const config::Section& section : *sections) {
                (this->*read_one)(section);
            }
        }
    }

    void read_start(const config::Section& root) {
        const auto level =
            reader_.word(root, "level_at_start", start_words, std::optional(Level::inactive));
        script_.level_at_start = level ? level->value : Level::inactive;
        const auto verdict =
            reader_.word(root, "post_halt", verdict_words, std::optional(script_.post_halt));
        script_.post_halt = verdict ? verdict->value : script_.post_halt;
        const config::Entry* released = find(*root.table, "released_at");
        if (released != nullptr && script_.level_at_start == Level::inactive) {
            reader_.error(
                released->place, "released_at", R"(goes with level_at_start = "pressed" only)");
            return;
        }
        if (script_.level_at_start == Level::inactive) {
            return;
        }
        Hold hold{level->place, {}, {}, Duration::max(), Duration::max()};
        if (released != nullptr) {
            const auto at = reader_.duration(root, "released_at", length_range, std::nullopt);
            if (at) {
                hold.release = at->value;
                hold.over = at->value;
                script_.events.push_back({at->value, ButtonMoves{Level::inactive}});
            }
        }
        holds_.push_back(hold);
    }

    void read_note(const config::Section& section, Duration at) {
        if (find(*section.table, "note") == nullptr) {
            return;
        }
        if (const auto note = reader_.text(section, "note", longest_note)) {
            script_.events.push_back({at, Remark{note->value}});
        }
    }

    void read_press(const config::Section& section) {
        reader_.only(section, press_keys);
        const auto at = reader_.duration(section, "at", moment_range, std::nullopt);
        const auto [pressing, releasing] = read_bounces(section, reader_);
        const bool open = find(*section.table, "for") == nullptr;
        const auto length =
            open ? std::nullopt : reader_.duration(section, "for", length_range, std::nullopt);
        if (!at || (!open && !length)) {
            return;
        }
        Hold hold{section.place, at->value, at->value + length_of(pressing), {}, {}};
        hold.release = open ? Duration::max() : at->value + length->value;
        hold.over = open ? Duration::max() : hold.release + length_of(releasing);
        if (!fits(hold, *at) || !has_room(pressing, section) || !has_room(releasing, section)) {
            return;
        }
        holds_.push_back(hold);
        read_note(section, hold.begin);
        add_edge(script_.events, hold.begin, Level::active, pressing);
        if (!open) {
            add_edge(script_.events, hold.release, Level::inactive, releasing);
        }
    }

    bool fits(const Hold& hold, const config::Placed<Duration>& at) {
        if (hold.settled >= hold.release) {
            reader_.error(hold.place, "press.for", "the press bounces for longer than it is held");
            return false;
        }
        if (holds_.empty() || holds_.back().over < hold.begin) {
            return true;
        }
        const Hold& last = holds_.back();
        reader_.error(at.place,
                      "press.at",
                      "the press in line " + std::to_string(last.place.line) +
                          (last.over == Duration::max()
                               ? " lasts to the end"
                               : " is over at " + to_text(last.over) +
                                     "; presses stand in order of time and do not overlap"));
        return false;
    }

    bool has_room(const Bounce& bounce, const config::Section& section) {
        if (script_.events.size() + bounce.size() < most_script_events) {
            return true;
        }
        reader_.error(section.place, section.name, "more than 200,000 events in all");
        return false;
    }

    /// The level that a glitch leaves, or nothing, with an error, where it meets an edge.
    std::optional<Level> level_around(Duration at, Duration over, Place place) {
        for (const Hold& hold : holds_) {
            if (over < hold.begin || at > hold.over) {
                continue;
            }
            const bool from_power_on = hold.begin == 0s && script_.level_at_start == Level::active;
            if ((at > hold.settled || (from_power_on && at >= hold.settled)) &&
                over < hold.release) {
                return Level::active;
            }
            reader_.error(place,
                          "glitch.at",
                          "meets an edge of the press in line " + std::to_string(hold.place.line) +
                              "; a glitch lies wholly inside or wholly outside a press");
            return std::nullopt;
        }
        return Level::inactive;
    }

    void read_glitch(const config::Section& section) {
        reader_.only(section, glitch_keys);
        const auto at = reader_.duration(section, "at", moment_range, std::nullopt);
        const auto length = reader_.duration(section, "for", length_range, std::nullopt);
        if (!at || !length) {
            return;
        }
        const Duration over = at->value + length->value;
        if (at->value <= glitched_) {
            reader_.error(at->place,
                          "glitch.at",
                          "comes before the last glitch is over; expected a time after " +
                              to_text(glitched_));
            return;
        }
        const auto level = level_around(at->value, over, at->place);
        if (!level) {
            return;
        }
        glitched_ = over;
        read_note(section, at->value);
        add_edge(script_.events, at->value, !*level, {length->value});
    }

    void read_fault(const config::Section& section) {
        reader_.only(section, fault_keys);
        const auto at = reader_.duration(section, "at", moment_range, std::nullopt);
        const auto kind = reader_.text(section, "kind", longest_note);
        if (!at || !kind) {
            return;
        }
        read_note(section, at->value);
        if (kind->value == "vanish" || kind->value == "return") {
            const bool vanish = kind->value == "vanish";
            faults_.push_back({at->value, kind->place, vanish});
            script_.events.push_back(
                {at->value, vanish ? ChipFault::vanish : ChipFault::comes_back});
        } else if (const auto count = drop_count(kind->value)) {
            script_.events.push_back({at->value, DropEvents{*count}});
        } else {
            reader_.error(kind->place,
                          "fault.kind",
                          in_quotes(kind->value) +
                              R"( is not allowed ("vanish", "return", "drop 3 events"))");
        }
    }

    void read_alarm_level(const config::Section& section) {
        if (auto level = read_alarm(section, reader_)) {
            read_note(section, level->front().at);
            script_.alarms.push_back(
                {std::get<AlarmMoves>(level->front().step).alarm, section.place});
            std::move(level->begin(), level->end(), std::back_inserter(script_.events));
        }
    }

    void add(const config::Section& section, std::optional<ScriptEvent> event) {
        if (event) {
            read_note(section, event->at);
            script_.events.push_back(std::move(*event));
        }
    }

    void read_login(const config::Section& section) {
        auto event = read_login_manager(section, reader_);
        const auto* does = event ? std::get_if<LoginDoes>(&event->step) : nullptr;
        if (does != nullptr && (*does == LoginDoes::vanish || *does == LoginDoes::comes_back)) {
            login_.push_back({event->at, section.place, *does == LoginDoes::vanish});
        }
        add(section, std::move(event));
    }

    void read_service_step(const config::Section& section) {
        add(section, read_service(section, reader_));
    }

    void read_expected(const config::Section& section) {
        if (auto expected = read_expectation(section, reader_)) {
            script_.expectations.push_back(std::move(*expected));
        }
    }

    /// What goes away and comes back does so by turns.
    struct Turn {
        Duration at;
        Place place;
        bool vanishes;
    };

    void check_turns(std::vector<Turn>& turns, const std::string& key, const std::string& what) {
        std::stable_sort(
            turns.begin(), turns.end(), [](const Turn& a, const Turn& b) { return a.at < b.at; });
        bool away = false;
        for (const Turn& turn : turns) {
            if (turn.vanishes == away) {
                reader_.error(turn.place,
                              key,
                              what + (away ? " has vanished already"
                                           : " is there; it has to vanish before it can return"));
            }
            away = turn.vanishes;
        }
    }

    /// An expectation that the run never comes to would be met by nothing happening.
    void check_expectations() {
        for (const Expectation& one : script_.expectations) {
            if (moment_of(one) > script_.end) {
                reader_.error(one.place,
                              "expect.at",
                              "the script ends at " + to_text(script_.end) + ", before that");
            }
        }
    }

    void read_end(const config::Section& root) {
        const Duration last = script_.events.empty() ? 0s : script_.events.back().at;
        const auto end = reader_.duration(root, "end", moment_range, last + tail);
        if (end && end->value < last) {
            reader_.error(
                end->place, "end", "the last event is at " + to_text(last) + ", after the end");
        }
        script_.end = end ? end->value : last;
    }

    config::Reader reader_;
    PressScript script_;
    std::vector<Hold> holds_;  ///< in order of time
    Duration glitched_{-1};    ///< the end of the last glitch
    std::vector<Turn> faults_;
    std::vector<Turn> login_;
};

}  // namespace

bool scripts_the_login_manager(const PressScript& script) noexcept {
    return std::any_of(script.events.begin(), script.events.end(), [](const ScriptEvent& event) {
        return std::holds_alternative<LoginAnswers>(event.step) ||
               std::holds_alternative<LoginDoes>(event.step);
    });
}

LoadedScript load_press_script(std::string_view text) {
    const auto document = config::parse_document(text);
    if (!document) {
        return {std::nullopt, {document.error()}};
    }
    return ScriptReader().read(document->root);
}

}  // namespace nightlatch::rehearsal
