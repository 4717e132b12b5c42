// SPDX-License-Identifier: MIT
// Prometheus' text format 0.0.4: a family is its HELP, its TYPE and its samples, in one piece; in a
// label's value a backslash, a quotation mark and a line end are escaped
// [https://prometheus.io/docs/instrumenting/exposition_formats/]. Nearly all are gauges:
// what is shown at a moment, and what is counted over the runs that the logbook still has, can go
// down. The number of the last run cannot.
#include "base/text.hpp"
#include "core/cue.hpp"
#include "daemon/tool/status/status.hpp"
#include "logbook/overview.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <map>
#include <span>
#include <string_view>

namespace nightlatch::tool {
namespace {

constexpr std::array verdict_names{std::string_view("configured"),
                                   std::string_view("contradicted"),
                                   std::string_view("absent"),
                                   std::string_view("cannot-tell")};
constexpr std::array on_disk_names{
    std::string_view("same"), std::string_view("differs"), std::string_view("bad")};
constexpr std::array level_names{
    std::string_view("pressed"), std::string_view("released"), std::string_view("unknown")};
constexpr std::array end_names{std::string_view("orderly"),
                               std::string_view("left"),
                               std::string_view("lost"),
                               std::string_view("lost-last-words"),
                               std::string_view("unknowable")};

std::string escaped(std::string_view value) {
    std::string text;
    for (const char c : safe(value)) {
        text += c == '\\' || c == '"' ? "\\" : "";
        text += c;
    }
    return text;
}

double seconds(Duration length) {
    return std::chrono::duration<double>(length).count();
}

/// To the millisecond, which no locale changes.
std::string in_thousandths(double value) {
    std::array<char, 64> text{};
    const auto [end, error] =
        std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed, 3);
    return error == std::errc() ? std::string(text.data(), end) : "NaN";
}

/// Seconds since 1970. In floating point, where no time that a service may tell runs over.
std::string since_1970(const StatusFacts& facts, Instant when) {
    return in_thousandths(seconds(facts.unix_now) - seconds(facts.now.time_since_epoch()) +
                          seconds(when.time_since_epoch()));
}

std::string number(bool truth) {
    return truth ? "1" : "0";
}

class Exposition {
public:
    void family(std::string_view name, std::string_view help, std::string_view type = "gauge") {
        name_ = "nightlatch_" + std::string(name);
        text_ += "# HELP " + name_ + " " + std::string(help) + "\n# TYPE " + name_ + " ";
        text_ += type;
        text_ += "\n";
    }

    void sample(const std::string& value) { text_ += name_ + " " + value + "\n"; }

    void sample(std::string_view label, std::string_view of, const std::string& value) {
        text_ += name_ + "{" + std::string(label) + "=\"";
        text_ += escaped(of);
        text_ += "\"} ";
        text_ += value + "\n";
    }

    void gauge(std::string_view name, std::string_view help, const std::string& value) {
        family(name, help);
        sample(value);
    }

    /// 1 for the word that it is, 0 for each other that it could be.
    void one_of(std::string_view label,
                std::span<const std::string_view> known,
                std::string_view word) {
        for (const std::string_view one : known) {
            sample(label, one, number(one == word));
        }
        if (std::find(known.begin(), known.end(), word) == known.end()) {
            sample(label, word, number(true));
        }
    }

    [[nodiscard]] const std::string& text() const noexcept { return text_; }

private:
    std::string name_;
    std::string text_;
};

std::vector<std::string_view> cue_names() {
    std::vector<std::string_view> names;
    names.reserve(core::all_cues.size());
    for (const core::CueName cue : core::all_cues) {
        names.push_back(core::text_of(cue));
    }
    return names;
}

void add_alarms(Exposition& to, const ServiceState& state) {
    // One sample a name, in whatever order and however often the names come.
    std::map<std::string, bool> due;
    for (const AlarmSeen& alarm : state.alarms) {
        due[safe(alarm.name)] |= alarm.due;
    }
    const auto count = std::count_if(
        state.alarms.begin(), state.alarms.end(), [](const AlarmSeen& one) { return one.due; });
    to.gauge("alarms_due", "How many alarms are due.", std::to_string(count));
    if (!due.empty()) {
        to.family("alarm_due", "Whether the alarm is due.");
    }
    for (const auto& [name, is_due] : due) {
        to.sample("alarm", name, number(is_due));
    }
}

void add_state(Exposition& to, const StatusFacts& facts) {
    const ServiceState& state = *facts.state;
    to.family("cue", "Which cue is shown.");
    to.one_of("cue", cue_names(), state.cue);
    to.gauge("cue_since_timestamp_seconds",
             "Since when the cue has been shown, in seconds since 1970.",
             since_1970(facts, state.since));
    add_alarms(to, state);
    to.family("post_halt", "What was found of the post-halt line.");
    to.one_of("verdict", verdict_names, state.post_halt);
    to.family("configuration", "The configuration on disk beside the one in force.");
    to.one_of("on_disk", on_disk_names, state.configuration.on_disk);
    to.gauge("configuration_loaded_timestamp_seconds",
             "When the configuration in force was read, in seconds since 1970.",
             since_1970(facts, state.configuration.loaded));
    to.gauge("line_watched", "Whether the button's line is watched.", number(state.line.watching));
    to.family("level", "The settled level of the button.");
    to.one_of("level", level_names, state.level);
    to.gauge("dry_run", "Whether nothing is asked of the system.", number(state.dry));
    to.family("build_info", "The version of the service, as a label.");
    to.sample("version", state.version, number(true));
}

void add_time(Exposition& to,
              std::string_view name,
              std::string_view help,
              const std::optional<Duration>& time) {
    if (time) {
        to.gauge(name, help, in_thousandths(seconds(*time)));
    }
}

void add_counts(Exposition& to, const logbook::Overview& overview) {
    const std::size_t ended = overview.orderly + overview.left + overview.lost + overview.unknown;
    to.family("logbook_runs", "How the runs ended that the logbook has.");
    to.sample("end", "orderly", std::to_string(overview.orderly));
    to.sample("end", "left", std::to_string(overview.left));
    to.sample("end", "lost", std::to_string(overview.lost));
    to.sample("end", "unknown", std::to_string(overview.unknown));
    to.sample("end", "running", std::to_string(overview.runs - ended));
    to.gauge("logbook_presses", "Presses in those runs.", std::to_string(overview.presses));
    to.gauge("logbook_near_misses",
             "Presses in those runs that were let go before any stage.",
             std::to_string(overview.near_misses));
    add_time(to,
             "logbook_going_down_median_seconds",
             "How long going down took in the middle of those runs.",
             overview.median);
    add_time(to,
             "logbook_going_down_longest_seconds",
             "How long going down took at most in those runs.",
             overview.longest ? std::optional(overview.longest->time) : std::nullopt);
}

void add_logbook(Exposition& to, const Known<Pages>& book) {
    to.gauge("logbook_readable", "Whether the logbook can be read.", number(bool(book)));
    if (!book) {
        return;
    }
    std::size_t unread = 0;
    for (const UnreadLines& one : book->unread) {
        unread += one.lines.lines;
    }
    to.gauge("logbook_unread_lines",
             "Lines in the logbook that could not be read.",
             std::to_string(unread));
    if (!book->runs.empty()) {
        to.family("runs_total", "The number of the last run: how many there have been.", "counter");
        to.sample(std::to_string(book->runs.back().id.number));
    }
    if (const logbook::Run* const last = book->last_judged()) {
        to.family("logbook_last_end", "How the last run ended.");
        to.one_of("end", end_names, end_word(last->end.end));
    }
    add_counts(to, logbook::overview_of(book->runs));
}

}  // namespace

std::string status_prometheus(const StatusFacts& facts) {
    Exposition to;
    to.gauge("up", "Whether the service answers.", number(facts.state.has_value()));
    to.gauge("wrong",
             "How many things are wrong: nightlatch status names them.",
             std::to_string(what_is_wrong(facts).size()));
    if (facts.state) {
        add_state(to, facts);
    }
    add_logbook(to, facts.logbook);
    return to.text();
}

}  // namespace nightlatch::tool
