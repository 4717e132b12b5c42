// SPDX-License-Identifier: MIT
#include "rehearsal/script_surroundings.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

using namespace std::chrono_literals;

constexpr DurationRange moment{0s, 24h};
constexpr DurationRange answer_time{0s, 10min};
constexpr DurationRange tolerance{0s, 10s};
constexpr std::size_t longest_reason = 200;
constexpr std::int64_t most_requests = 1'000'000;

constexpr std::array answer_words{config::Word<AnswerWord>{"accept", AnswerWord::accept},
                                  config::Word<AnswerWord>{"refuse", AnswerWord::refuse},
                                  config::Word<AnswerWord>{"none", AnswerWord::none}};
constexpr std::array login_words{config::Word<LoginDoes>{"vanish", LoginDoes::vanish},
                                 config::Word<LoginDoes>{"return", LoginDoes::comes_back},
                                 config::Word<LoginDoes>{"power-off", LoginDoes::power_off},
                                 config::Word<LoginDoes>{"reboot", LoginDoes::reboot},
                                 config::Word<LoginDoes>{"call-off", LoginDoes::call_off}};
constexpr std::array service_words{config::Word<ServiceDoes>{"restart", ServiceDoes::restart},
                                   config::Word<ServiceDoes>{"reload", ServiceDoes::reload},
                                   config::Word<ServiceDoes>{"boot", ServiceDoes::boot}};
constexpr std::array request_words{config::Word<core::Action>{"power-off", core::Action::power_off},
                                   config::Word<core::Action>{"reboot", core::Action::reboot}};

constexpr std::array<std::string_view, 6> login_keys{
    "note", "at", "answer", "after", "reason", "does"};
constexpr std::array<std::string_view, 4> alarm_keys{"note", "name", "at", "for"};
constexpr std::array<std::string_view, 3> service_keys{"note", "at", "does"};
constexpr std::array<std::string_view, 5> expected_things{
    "shows", "begins", "asks", "announces", "requests"};
constexpr std::array<std::string_view, 7> expect_keys{
    "at", "within", "shows", "begins", "asks", "announces", "requests"};

bool has(const config::Section& section, std::string_view key) {
    return find(*section.table, key) != nullptr;
}

/// Says of a key that goes with something else only so, and gives whether it was there.
bool out_of_place(const config::Section& section,
                  std::string_view key,
                  std::string_view with,
                  config::Reader& reader) {
    const config::Entry* entry = find(*section.table, key);
    if (entry == nullptr) {
        return false;
    }
    reader.error(entry->place, full_key(section, key), "goes with " + std::string(with) + " only");
    return true;
}

std::optional<LoginAnswers> read_answer(const config::Section& section, config::Reader& reader) {
    LoginAnswers answers;
    const auto word = reader.word(section, "answer", answer_words, std::optional<AnswerWord>{});
    const auto after = reader.duration(section, "after", answer_time, answers.after);
    if (!word || !after) {
        return std::nullopt;
    }
    answers.word = word->value;
    answers.after = after->value;
    if (answers.word != AnswerWord::refuse) {
        const bool wrong = out_of_place(section, "reason", R"(answer = "refuse")", reader);
        return wrong ? std::nullopt : std::optional(answers);
    }
    if (has(section, "reason")) {
        const auto reason = reader.text(section, "reason", longest_reason);
        if (!reason) {
            return std::nullopt;
        }
        answers.reason = reason->value;
    }
    return answers;
}

std::optional<core::CueName> read_cue(const config::Section& section,
                                      std::string_view key,
                                      config::Reader& reader) {
    std::array<config::Word<core::CueName>, core::cue_count> words{};
    std::transform(core::all_cues.begin(), core::all_cues.end(), words.begin(), [](auto cue) {
        return config::Word<core::CueName>{core::text_of(cue), cue};
    });
    const auto cue = reader.word(section, key, words, std::optional<core::CueName>{});
    return cue ? std::optional(cue->value) : std::nullopt;
}

std::optional<Expectation> read_count(const config::Section& section, config::Reader& reader) {
    const bool wrong = out_of_place(section, "at", "shows, begins, asks and announces", reader) ||
                       out_of_place(section, "within", "begins, asks and announces", reader);
    const config::Value& value = find(*section.table, "requests")->value;
    const auto* count = std::get_if<std::int64_t>(&value.data);
    if (count == nullptr || *count < 0 || *count > most_requests) {
        reader.error(value.place,
                     full_key(section, "requests"),
                     "expected how many there are in all: 0 to 1000000");
        return std::nullopt;
    }
    if (wrong) {
        return std::nullopt;
    }
    return Expectation{section.place, RequestCount{static_cast<std::uint32_t>(*count)}};
}

std::optional<Expectation> read_moment(const config::Section& section,
                                       std::string_view thing,
                                       config::Reader& reader) {
    const auto at = reader.duration(section, "at", moment, std::nullopt);
    const bool lasts = thing == "shows";
    const bool wrong =
        lasts && out_of_place(section, "within", "begins, asks and announces", reader);
    const auto within = lasts ? std::optional(config::Placed<Duration>{})
                              : reader.duration(section, "within", tolerance, Duration(10ms));
    if (thing == "asks") {
        const auto action =
            reader.word(section, thing, request_words, std::optional<core::Action>{});
        return at && within && action
                   ? std::optional(Expectation{section.place,
                                               AsksFor{at->value, action->value, within->value}})
                   : std::nullopt;
    }
    if (thing == "announces") {
        const auto stage = reader.text(section, thing, longest_reason);
        return at && within && stage
                   ? std::optional(Expectation{section.place,
                                               Announces{at->value, stage->value, within->value}})
                   : std::nullopt;
    }
    const auto cue = read_cue(section, thing, reader);
    if (!at || !within || !cue || wrong) {
        return std::nullopt;
    }
    return lasts ? Expectation{section.place, ShowsCue{at->value, *cue}}
                 : Expectation{section.place, BeginsCue{at->value, *cue, within->value}};
}

}  // namespace

std::optional<ScriptEvent> read_login_manager(const config::Section& section,
                                              config::Reader& reader) {
    reader.only(section, login_keys);
    const auto at = reader.duration(section, "at", moment, std::nullopt);
    if (has(section, "answer") == has(section, "does")) {
        reader.error(
            section.place,
            section.name,
            R"(expected one of `answer` ("accept", "refuse", "none") and `does` ("vanish", )"
            R"("return", "power-off", "reboot", "call-off"))");
        return std::nullopt;
    }
    if (has(section, "answer")) {
        auto answers = read_answer(section, reader);
        return at && answers ? std::optional(ScriptEvent{at->value, std::move(*answers)})
                             : std::nullopt;
    }
    const bool late = out_of_place(section, "after", "answer", reader);
    const bool reasoned = out_of_place(section, "reason", R"(answer = "refuse")", reader);
    const auto does = reader.word(section, "does", login_words, std::optional<LoginDoes>{});
    return at && does && !late && !reasoned ? std::optional(ScriptEvent{at->value, does->value})
                                            : std::nullopt;
}

std::optional<std::vector<ScriptEvent>> read_alarm(const config::Section& section,
                                                   config::Reader& reader) {
    reader.only(section, alarm_keys);
    const auto name = reader.text(section, "name", longest_reason);
    const auto at = reader.duration(section, "at", moment, std::nullopt);
    const bool ends = has(section, "for");
    const auto lasts = reader.duration(section, "for", moment, Duration::zero());
    if (!name || !at || !lasts) {
        return std::nullopt;
    }
    std::vector<ScriptEvent> events{{at->value, AlarmMoves{name->value, Level::active}}};
    if (ends) {
        events.push_back({at->value + lasts->value, AlarmMoves{name->value, Level::inactive}});
    }
    return events;
}

std::optional<ScriptEvent> read_service(const config::Section& section, config::Reader& reader) {
    reader.only(section, service_keys);
    const auto at = reader.duration(section, "at", moment, std::nullopt);
    const auto does = reader.word(section, "does", service_words, std::optional<ServiceDoes>{});
    return at && does ? std::optional(ScriptEvent{at->value, does->value}) : std::nullopt;
}

std::optional<Expectation> read_expectation(const config::Section& section,
                                            config::Reader& reader) {
    reader.only(section, expect_keys);
    const auto count = std::count_if(expected_things.begin(),
                                     expected_things.end(),
                                     [&](std::string_view key) { return has(section, key); });
    if (count != 1) {
        reader.error(section.place,
                     section.name,
                     std::string(count == 0 ? "says nothing to expect" : "expects several things") +
                         "; expected one of `shows`, `begins`, `asks`, `announces`, `requests`");
        return std::nullopt;
    }
    const auto* const thing = std::find_if(expected_things.begin(),
                                           expected_things.end(),
                                           [&](std::string_view key) { return has(section, key); });
    return *thing == "requests" ? read_count(section, reader)
                                : read_moment(section, *thing, reader);
}

}  // namespace nightlatch::rehearsal
