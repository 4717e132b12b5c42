// SPDX-License-Identifier: MIT
#include "logbook/record_text.hpp"

#include "logbook/line.hpp"
#include "logbook/members.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::logbook {
namespace {

using std::chrono::duration_cast;
using std::chrono::microseconds;

template <class Meaning>
struct Word {
    Meaning meaning;
    std::string_view word;
};

constexpr std::array<Word<Looker>, 6> lookers{{{Looker::fsck_log, "fsck-log"},
                                               {Looker::fsck_unit, "fsck-unit"},
                                               {Looker::kernel, "kernel"},
                                               {Looker::f2fs_status, "f2fs-status"},
                                               {Looker::pstore, "pstore"},
                                               {Looker::reset_cause, "reset-cause"}}};

constexpr std::array<Word<Saw>, 5> sights{{{Saw::clean, "clean"},
                                           {Saw::recovery, "recovery"},
                                           {Saw::not_there, "not-there"},
                                           {Saw::unreadable, "unreadable"},
                                           {Saw::words, "words"}}};

template <class Words, class Meaning>
std::string word_of(const Words& words, Meaning meaning) {
    const auto found = std::find_if(
        words.begin(), words.end(), [&](const auto& word) { return word.meaning == meaning; });
    return std::string(found->word);
}

template <class Words>
auto meaning_of(const Words& words, const std::string& text) {
    const auto found = std::find_if(
        words.begin(), words.end(), [&](const auto& word) { return word.word == text; });
    return found == words.end() ? std::nullopt : std::optional(found->meaning);
}

std::int64_t in_us(Instant instant) {
    return duration_cast<microseconds>(instant.time_since_epoch()).count();
}

std::optional<std::int64_t> within(std::optional<std::int64_t> number, std::int64_t most) {
    return number && *number >= 0 && *number <= most ? number : std::nullopt;
}

std::optional<Instant> instant_in(const Members& members, std::string_view name) {
    const std::optional<std::int64_t> us = within(integer_in(members, name), most_up_us);
    return us ? std::optional(Instant(microseconds(*us))) : std::nullopt;
}

std::int64_t as_number(std::uint64_t count) {
    return static_cast<std::int64_t>(std::min(count, most_number));
}

std::uint64_t count_in(const Members& members, std::string_view name) {
    const std::optional<std::int64_t> number = integer_in(members, name);
    return number && *number > 0 ? std::min(static_cast<std::uint64_t>(*number), most_number) : 0;
}

// Writing.

struct Writing {
    Object object{};

    void add(const char* name, Value value) { object.members.emplace_back(name, std::move(value)); }

    void add(const char* name, const std::optional<Instant>& instant) {
        if (instant) {
            add(name, Value(in_us(*instant)));
        }
    }

    void begin(const char* kind, const RunId& run, const Stamp& at) {
        add("version", format_version);
        add("kind", std::string(kind));
        add("run", as_number(run.number));
        add("boot", run.boot);
        add("up_us", in_us(at.up));
        if (at.day) {
            add("day_us", static_cast<std::int64_t>(at.day->time_since_epoch().count()));
        }
    }

    void operator()(const Started& record) {
        begin("started", record.run, record.at);
        add("nightlatch", record.version);
        add("kernel", record.kernel);
        if (record.before) {
            add("before_run", as_number(record.before->number));
            add("before_boot", record.before->boot);
        }
        auto& systems = object.lists.emplace_back("file_systems", std::vector<Members>{}).second;
        for (const FileSystem& one : record.file_systems) {
            systems.push_back({{"where", one.where}, {"type", one.type}, {"root", one.root}});
        }
        auto& evidence = object.lists.emplace_back("evidence", std::vector<Members>{}).second;
        for (const Evidence& one : record.evidence) {
            evidence.push_back({{"by", word_of(lookers, one.by)},
                                {"saw", word_of(sights, one.saw)},
                                {"of", one.of},
                                {"where", one.where},
                                {"words", one.words}});
        }
        if (record.stopping) {
            add_stopping(*record.stopping);
        }
    }

    /// The members that say `before_` are of the run before.
    void add_stopping(const Stopping& stopping) {
        add("before_journal", true);
        add("before_slowest", stopping.slowest);
        add("before_slowest_us", in_us(Instant(stopping.took)));
        add("before_reached", stopping.reached);
        add_units("before_timed_out", stopping.timed_out);
        add_units("before_unfinished", stopping.unfinished);
    }

    void add_units(const char* name, const std::vector<std::string>& units) {
        auto& list = object.lists.emplace_back(name, std::vector<Members>{}).second;
        for (const std::string& unit : units) {
            list.push_back({{"unit", unit}});
        }
    }

    void operator()(const Ended& record) {
        begin("ended", record.run, record.at);
        add("target", record.target);
        add("service", record.summary.has_value());
        if (!record.summary) {
            return;
        }
        const Summary& summary = *record.summary;
        add("presses", as_number(summary.presses));
        add("near_misses", as_number(summary.near_misses));
        add("restarts", as_number(summary.restarts));
        add("decided_by", summary.decided_by);
        add("action", summary.action);
        add("decided_us", summary.decided);
        add("asked_us", summary.asked);
        add("going_down_us", summary.going_down);
    }

    void operator()(const Witnessed& record) {
        begin("witnessed", record.run, record.at);
        add("words", record.words);
        add("facts", record.facts);
    }
};

// Reading.

Stamp stamp_in(const Members& members) {
    Stamp stamp{instant_in(members, "up_us").value_or(Instant{}), {}};
    if (const auto us = within(integer_in(members, "day_us"), most_day_us)) {
        stamp.day = DayClock::time_point(microseconds(*us));
    }
    return stamp;
}

std::vector<std::string> units_in(const Object& object, std::string_view name) {
    std::vector<std::string> units;
    for (const Members& one : list_in(object, name)) {
        units.push_back(text_in(one, "unit"));
    }
    return units;
}

std::optional<Stopping> stopping_in(const Object& object) {
    const Members& all = object.members;
    if (!flag_in(all, "before_journal")) {
        return std::nullopt;
    }
    const Instant took = instant_in(all, "before_slowest_us").value_or(Instant{});
    return Stopping{text_in(all, "before_slowest"),
                    took.time_since_epoch(),
                    units_in(object, "before_timed_out"),
                    units_in(object, "before_unfinished"),
                    text_in(all, "before_reached")};
}

std::optional<Record> started_in(const RunId& run, const Object& object) {
    const Members& all = object.members;
    Started record{
        run, stamp_in(all), text_in(all, "nightlatch"), text_in(all, "kernel"), {}, {}, {}, {}};
    if (const std::string boot = text_in(all, "before_boot"); !boot.empty()) {
        record.before = RunId{count_in(all, "before_run"), boot};
    }
    for (const Members& one : list_in(object, "file_systems")) {
        record.file_systems.push_back(
            {text_in(one, "where"), text_in(one, "type"), flag_in(one, "root")});
    }
    for (const Members& one : list_in(object, "evidence")) {
        const auto by = meaning_of(lookers, text_in(one, "by"));
        const auto saw = meaning_of(sights, text_in(one, "saw"));
        if (!by) {
            continue;  // a later version's: it decides nothing here
        }
        record.evidence.push_back({*by,
                                   saw.value_or(Saw::unreadable),
                                   text_in(one, "of"),
                                   text_in(one, "where"),
                                   text_in(one, "words")});
    }
    record.stopping = stopping_in(object);
    return record;
}

std::optional<Record> ended_in(const RunId& run, const Object& object) {
    const Members& all = object.members;
    Ended record{run, stamp_in(all), text_in(all, "target"), {}};
    if (flag_in(all, "service")) {
        record.summary = Summary{count_in(all, "presses"),
                                 count_in(all, "near_misses"),
                                 count_in(all, "restarts"),
                                 text_in(all, "decided_by"),
                                 text_in(all, "action"),
                                 instant_in(all, "decided_us"),
                                 instant_in(all, "asked_us"),
                                 instant_in(all, "going_down_us")};
    }
    return record;
}

std::optional<Record> witnessed_in(const RunId& run, const Object& object) {
    const Members& all = object.members;
    return Witnessed{run, stamp_in(all), text_in(all, "words"), text_in(all, "facts")};
}

std::optional<Record> record_in(const Object& object) {
    const RunId run{count_in(object.members, "run"), text_in(object.members, "boot")};
    const std::string kind = text_in(object.members, "kind");
    if (run.number == 0 || run.boot.empty()) {
        return std::nullopt;
    }
    return kind == "started"     ? started_in(run, object)
           : kind == "ended"     ? ended_in(run, object)
           : kind == "witnessed" ? witnessed_in(run, object)
                                 : std::nullopt;
}

}  // namespace

const RunId& run_of(const Record& record) noexcept {
    if (const auto* started = std::get_if<Started>(&record)) {
        return started->run;
    }
    if (const auto* ended = std::get_if<Ended>(&record)) {
        return ended->run;
    }
    return std::get_if<Witnessed>(&record)->run;
}

std::string line_of(const Record& record) {
    Writing writing;
    std::visit(writing, record);
    return line_around(to_text(writing.object));
}

std::variant<Record, NoRecord> record_of(std::string_view members) {
    const std::optional<Object> object = read_members(members);
    if (!object) {
        return NoRecord::unknown;
    }
    const std::int64_t version = integer_in(object->members, "version").value_or(0);
    if (version > format_version) {
        return NoRecord::later_version;
    }
    std::optional<Record> record = version < 1 ? std::nullopt : record_in(*object);
    if (!record) {
        return NoRecord::unknown;
    }
    return *std::move(record);
}

}  // namespace nightlatch::logbook
