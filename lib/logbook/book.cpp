// SPDX-License-Identifier: MIT
#include "logbook/book.hpp"

#include <algorithm>
#include <numeric>
#include <unordered_map>

namespace nightlatch::logbook {
namespace {

/// Runs by their boot ids, made as they are met.
class Runs {
public:
    Run& of(const RunId& id) {
        const auto [at, is_new] = places_.try_emplace(id.boot, runs_.size());
        if (is_new) {
            runs_.push_back({id, {}, {}, {}, {}});
        }
        return runs_[at->second];
    }

    Run* find(const std::string& boot) {
        const auto at = places_.find(boot);
        return at == places_.end() ? nullptr : &runs_[at->second];
    }

    std::vector<Run>& all() { return runs_; }

private:
    std::vector<Run> runs_;
    std::unordered_map<std::string, std::size_t> places_;
};

void add(Runs& runs, Started&& record) {
    Run& run = runs.of(record.run);
    if (!run.started) {
        run.started = std::move(record);
    }
}

void add(Runs& runs, Ended&& record) {
    Run& run = runs.of(record.run);
    run.ended = std::move(record);
}

void add(Runs& runs, Witnessed&& record) {
    Run& run = runs.of(record.run);
    const auto found = std::find(run.witnessed.begin(), run.witnessed.end(), record);
    if (found == run.witnessed.end()) {  // else it was carried over into a new file
        run.witnessed.push_back(std::move(record));
    }
}

/// By their numbers; of those that have the same, by the order in which they were met.
std::vector<std::size_t> in_order(const std::vector<Run>& runs) {
    std::vector<std::size_t> places(runs.size());
    std::iota(places.begin(), places.end(), std::size_t{0});
    std::sort(places.begin(), places.end(), [&](std::size_t one, std::size_t other) {
        return std::pair(runs[one].id.number, one) < std::pair(runs[other].id.number, other);
    });
    return places;
}

std::string reset_cause_in(const Started& next) {
    const auto found =
        std::find_if(next.evidence.begin(), next.evidence.end(), [](const Evidence& one) {
            return one.by == Looker::reset_cause && one.saw == Saw::words;
        });
    return found == next.evidence.end() ? "" : found->where + ": " + found->words;
}

/// A clock that was set anew in between can have gone back.
std::optional<Duration> time_off(const Run& run, const Started& next) {
    if (!run.ended || !run.ended->at.day || !next.at.day) {
        return std::nullopt;
    }
    const DayClock::time_point start =
        *next.at.day - std::chrono::floor<DayClock::duration>(next.at.up.time_since_epoch());
    const DayClock::duration off = start - *run.ended->at.day;
    return off < DayClock::duration::zero() ? std::nullopt : std::optional<Duration>(off);
}

/// Where several runs say that they came after one, they must agree that its end was orderly.
void judge_before(Runs& runs, const Started& next) {
    Run* const run = next.before ? runs.find(next.before->boot) : nullptr;
    if (run == nullptr || run->id.boot == next.run.boot) {
        return;
    }
    if (run->end.end == End::not_looked || run->end.end == End::orderly) {
        run->end = judge(run->ended.has_value(), next);
        run->stopping = next.stopping;
        run->off = time_off(*run, next);
        run->reset_cause = reset_cause_in(next);
    }
}

}  // namespace

std::optional<Duration> Run::going_down() const {
    if (!ended || !ended->summary) {
        return std::nullopt;
    }
    const Summary& summary = *ended->summary;
    const std::optional<Instant> from = summary.going_down ? summary.going_down : summary.asked;
    if (!from || *from > ended->at.up) {
        return std::nullopt;
    }
    return ended->at.up - *from;
}

const Run* Book::of_boot(std::string_view boot) const {
    const auto found = std::find_if(
        runs.rbegin(), runs.rend(), [&](const Run& run) { return run.id.boot == boot; });
    return found == runs.rend() ? nullptr : &*found;
}

const Run* Book::before(std::string_view boot) const {
    const auto found = std::find_if(
        runs.rbegin(), runs.rend(), [&](const Run& run) { return run.id.boot != boot; });
    return found == runs.rend() ? nullptr : &*found;
}

Book book_of(std::vector<Record> records, std::string_view boot_now) {
    Runs runs;
    for (Record& record : records) {
        std::visit([&](auto& one) { add(runs, std::move(one)); }, record);
    }
    for (const Run& run : runs.all()) {
        if (run.started) {
            judge_before(runs, *run.started);
        }
    }
    for (Run& run : runs.all()) {
        if (run.id.boot == boot_now) {
            run.end = {End::running, {}, {}};
        } else if (!run.started && !run.ended) {
            run.end = {End::orderly, {}, {}};  // only such a run can be witnessed: the rest is gone
        }
    }
    Book book;
    for (const std::size_t place : in_order(runs.all())) {
        book.runs.push_back(std::move(runs.all()[place]));
    }
    return book;
}

}  // namespace nightlatch::logbook
