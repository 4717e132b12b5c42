// SPDX-License-Identifier: MIT
// Prometheus' text format 0.0.4: a family is its HELP, its TYPE and its samples, in one piece; in a
// label's value a backslash, a quotation mark and a line end are escaped
// [https://prometheus.io/docs/instrumenting/exposition_formats/]. Gauges only: they are all that
// what is shown at a moment can be.
#include "base/text.hpp"
#include "core/cue.hpp"
#include "daemon/tool/status/status.hpp"

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

/// Seconds since 1970 to the millisecond, which no locale changes. In floating point, where no time
/// that a service may tell runs over.
std::string since_1970(const StatusFacts& facts, Instant when) {
    std::array<char, 64> text{};
    const double value = seconds(facts.unix_now) - seconds(facts.now.time_since_epoch()) +
                         seconds(when.time_since_epoch());
    const auto [end, error] =
        std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed, 3);
    return error == std::errc() ? std::string(text.data(), end) : "NaN";
}

std::string number(bool truth) {
    return truth ? "1" : "0";
}

class Exposition {
public:
    void family(std::string_view name, std::string_view help) {
        name_ = "nightlatch_" + std::string(name);
        text_ += "# HELP " + name_ + " " + std::string(help) + "\n# TYPE " + name_ + " gauge\n";
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
    return to.text();
}

}  // namespace nightlatch::tool
