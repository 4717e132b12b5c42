// SPDX-License-Identifier: MIT
#include "property/sweep.hpp"

#include "base/duration_text.hpp"
#include "support/enumerate.hpp"

#include <algorithm>
#include <chrono>
#include <iostream>
#include <sstream>

namespace nightlatch::test {

using namespace core;
using model::Expected;
using model::Line;
using model::Reply;

namespace {

model::Request request_of(const Left& left) {
    if (const auto* ask = std::get_if<Ask>(&left.action)) {
        return {left.at, ask->stage, ask->held};
    }
    const auto& publish = std::get<Publish>(left.action);
    return {left.at, publish.stage, publish.held};
}

struct Seen {
    Expected what;
    std::vector<Note> notes;
};

Seen seen_by_core(const Settings& settings, const Line& line, Reply reply) {
    Shell shell(settings, line.start, line.level);
    shell.opens = true;
    if (reply == Reply::refused) {
        shell.answers = AnswerKind::refused;
    }
    for (const Sample& sample : line.samples) {
        shell.sample(sample.stamp, sample.level);
    }
    shell.wait(line.end);
    shell.wake(line.end);
    Seen seen;
    for (const Left& left : requests_of(shell.left())) {
        seen.what.requests.push_back(request_of(left));
    }
    seen.notes = shell.notes();
    for (const Note& note : seen.notes) {
        if (note.why == Why::near_miss) {
            seen.what.near_misses.push_back(note.at);
        } else if (note.why == Why::called_off ||
                   (note.from == State::countdown && note.to == State::fault)) {
            seen.what.call_offs.push_back(note.at);
        } else if (note.why == Why::stuck) {
            seen.what.stuck.push_back(note.at);
        }
        if (note.why == Why::line_unreadable || note.why == Why::line_unreadable_still) {
            seen.what.unreadable.push_back({note.at, note.why == Why::line_unreadable});
        }
    }
    return seen;
}

// On the threshold the core says how long it had been held by then; that is a moment of ours, not a
// length of the person's, so only its least is compared.
bool same_requests(const Expected& model, const Expected& core, const Settings& settings) {
    return std::equal(model.requests.begin(),
                      model.requests.end(),
                      core.requests.begin(),
                      core.requests.end(),
                      [&](const model::Request& ours, const model::Request& theirs) {
                          const bool held = settings.act_on == ActOn::threshold
                                                ? theirs.held >= settings.stages.front().hold
                                                : theirs.held == ours.held;
                          return ours.leaves == theirs.leaves && ours.stage == theirs.stage && held;
                      });
}

void describe(std::ostream& out, const Expected& what) {
    for (const model::Request& request : what.requests) {
        out << "  request at " << text_of(request.leaves) << ", stage " << request.stage
            << ", held " << to_text(request.held) << "\n";
    }
    const auto list = [&](const char* name, const std::vector<Instant>& instants) {
        for (const Instant instant : instants) {
            out << "  " << name << " at " << text_of(instant) << "\n";
        }
    };
    list("near miss", what.near_misses);
    list("call-off", what.call_offs);
    list("stuck", what.stuck);
    for (const model::Unreadable& found : what.unreadable) {
        out << "  unreadable at " << text_of(found.at) << (found.news ? "" : ", still") << "\n";
    }
}

}  // namespace

std::string text_of(const Settings& settings) {
    std::ostringstream out;
    out << "press " << to_text(settings.press_interval) << ", release "
        << to_text(settings.release_interval) << ", stuck_after " << to_text(settings.stuck_after)
        << ", grace " << to_text(settings.grace)
        << (settings.act_on == ActOn::threshold ? ", threshold" : ", release");
    for (const Stage& stage : settings.stages) {
        out << ", stage " << to_text(stage.hold)
            << (stage.action == Action::announce ? " announce" : " power-off");
    }
    return out.str();
}

std::string text_of(const Line& line) {
    std::ostringstream out;
    out << "at " << text_of(line.start) << " read " << nightlatch::text_of(line.level);
    Instant before = line.start;
    for (const Sample& sample : line.samples) {
        out << ", +" << to_text(sample.stamp - before) << " "
            << (sample.level == Level::active ? "pressed" : "released");
        before = sample.stamp;
    }
    out << ", until +" << to_text(line.end - before);
    return out.str();
}

std::string difference(const Settings& settings, const Line& line, Reply reply, Swept* count) {
    const Expected ours = model::expect(settings, line, reply);
    const Seen theirs = seen_by_core(settings, line, reply);
    if (count != nullptr) {
        count->lines += 1;
        count->requests += ours.requests.size();
        count->near_misses += ours.near_misses.size();
        count->call_offs += ours.call_offs.size();
        count->stuck += ours.stuck.size();
        count->unreadable += ours.unreadable.size();
    }
    if (same_requests(ours, theirs.what, settings) && ours.near_misses == theirs.what.near_misses &&
        ours.call_offs == theirs.what.call_offs && ours.stuck == theirs.what.stuck &&
        ours.unreadable == theirs.what.unreadable) {
        return {};
    }
    std::ostringstream out;
    out << text_of(settings) << "\n" << text_of(line) << "\nthe model:\n";
    describe(out, ours);
    out << "the core:\n";
    describe(out, theirs.what);
    out << "its trace:\n" << text_of(theirs.notes);
    return out.str();
}

namespace {

/// Lays out one line: its levels are the bits of `pattern`, or alternate.
void lay_out(const Sweep& sweep,
             const std::vector<std::size_t>& word,
             std::size_t pattern,
             Line& line) {
    line.level = pattern % 2 == 0 ? Level::inactive : Level::active;
    line.samples.resize(sweep.prefix.size() + word.size());
    Instant at = line.start;
    Level level = line.level;
    std::size_t next = 0;
    for (const Duration gap : sweep.prefix) {
        at += gap;
        level = !level;
        line.samples[next++] = {at, level};
    }
    for (std::size_t i = 0; i < word.size(); ++i) {
        at += sweep.gaps[word[i]];
        const bool pressed = ((pattern / 2) >> i) % 2 == 1;
        level = !sweep.repeats ? !level : pressed ? Level::active : Level::inactive;
        line.samples[next++] = {at, level};
    }
    line.end = at + sweep.tail;
}

}  // namespace

void for_each_line(const Sweep& sweep, const std::function<bool(const Line&)>& visit) {
    bool go_on = true;
    Line line;
    line.start = line_start;
    const std::size_t step = sweep.prefix.empty() ? 1 : 2;
    for (std::size_t length = 0; go_on && length <= sweep.length; ++length) {
        const std::size_t patterns = sweep.repeats ? std::size_t{2} << length : 2;
        for_each_word(sweep.gaps.size(), length, [&](const std::vector<std::size_t>& word) {
            for (std::size_t pattern = 0; go_on && pattern < patterns; pattern += step) {
                lay_out(sweep, word, pattern, line);
                go_on = visit(line);
            }
            return go_on;
        });
    }
}

Swept run_sweep(const Sweep& sweep, std::string_view name) {
    Sweep used = sweep;
    if (shortened) {
        used.length -= 2;
    }
    const auto begun = std::chrono::steady_clock::now();
    Swept swept;
    for_each_line(used, [&](const Line& line) {
        swept.wrong = difference(used.settings, line, used.reply, &swept);
        return swept.wrong.empty();
    });
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begun;
    std::cout << name << ": " << swept.lines << " lines of up to " << used.length << " samples"
              << (shortened ? " (shortened)" : "") << ", " << swept.requests << " requests, "
              << swept.near_misses << " near misses, " << swept.call_offs << " call-offs, "
              << swept.stuck << " stuck, " << swept.unreadable << " unreadable; " << took.count()
              << " s" << std::endl;
    return swept;
}

Settings small_settings() {
    Settings settings;
    settings.press_interval = 30ms;
    settings.release_interval = 30ms;
    settings.stuck_after = 300ms;
    settings.stages = {{.name = "off", .hold = 90ms, .action = Action::power_off}};
    return settings;
}

std::vector<Duration> critical_gaps(const Settings& settings) {
    std::vector<Duration> gaps{0ms,
                               settings.press_interval - 1ms,
                               settings.press_interval,
                               settings.press_interval + 1ms,
                               settings.release_interval - 1ms,
                               settings.release_interval,
                               settings.release_interval + 1ms,
                               settings.stages.front().hold - 1ms,
                               settings.stages.front().hold,
                               settings.stuck_after};
    std::sort(gaps.begin(), gaps.end());
    gaps.erase(std::unique(gaps.begin(), gaps.end()), gaps.end());
    return gaps;
}

}  // namespace nightlatch::test
