// SPDX-License-Identifier: MIT
#include "search.hpp"

#include "store.hpp"
#include "told.hpp"

#include <algorithm>
#include <array>
#include <ctime>

#include <sys/resource.h>

namespace nightlatch::proof {

namespace {

using Bytes = std::array<std::uint8_t, World::most_bytes>;

/// Of the processor's time: on a busy machine a run is cut no earlier.
double now_in_seconds() {
    return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

/// What each move leads to from one state.
struct Successor {
    bool possible = false;
    bool wrong = false;
    std::vector<std::uint8_t> deeds;
    Bytes bytes{};
};

class Search {
public:
    Search(const Run& run, const Effort& effort)
        : effort_(effort), settings_(std::make_shared<core::Settings>(run.scaled.ticks)),
          world_(settings_, run.lateness, run.alphabet),
          moves_(moves_of(run.alphabet, world_.lines())), size_(world_.write(first_.data()).size),
          store_(size_), successors_(moves_.size()), alone_(!run.alphabet.button) {}

    Outcome run() {
        begun_ = now_in_seconds();
        store_.add(first_.data(), Store::none, 0);
        for (std::uint32_t i = 0; i < store_.size() && outcome_.why.empty(); ++i) {
            expand(i);
            cut_if_too_long(i);
        }
        if (outcome_.why.empty()) {
            live();
        }
        if (outcome_.why.empty()) {
            outcome_.end = End::closed;
        }
        outcome_.states = store_.size();
        outcome_.seconds = now_in_seconds() - begun_;
        rusage usage{};
        getrusage(RUSAGE_SELF, &usage);
        outcome_.memory = static_cast<std::size_t>(usage.ru_maxrss) * 1024;
        return outcome_;
    }

private:
    void compute(std::uint32_t from, Junk junk, std::size_t move, Successor& to);
    void expand(std::uint32_t from);
    void check_again(std::uint32_t from);
    void live();
    void lives_on(std::uint32_t state, Duration wait, Duration hold, bool bounces);
    void violate(const char* why, std::uint32_t at, const Move* last);
    void cut_if_too_long(std::uint32_t done);

    const Effort effort_;
    std::shared_ptr<const core::Settings> settings_;
    World world_;
    std::vector<Move> moves_;
    Bytes first_{};
    std::size_t size_;
    Store store_;
    std::vector<Successor> successors_;
    Successor again_;
    bool alone_;  ///< an alarm's line, and the button's at rest
    Outcome outcome_;
    double begun_ = 0;
};

void Search::compute(std::uint32_t from, Junk junk, std::size_t move, Successor& to) {
    world_.read(store_.at(from), junk);
    to.possible = world_.can(moves_[move]);
    if (!to.possible) {
        return;
    }
    world_.make(moves_[move]);
    to.wrong = world_.violation() != nullptr;
    to.deeds = world_.deeds();
    world_.write(to.bytes.data());
}

void Search::expand(std::uint32_t from) {
    for (std::size_t m = 0; m < moves_.size(); ++m) {
        Successor& next = successors_[m];
        compute(from, Junk::none, m, next);
        if (!next.possible) {
            continue;
        }
        ++outcome_.transitions;
        if (next.wrong) {
            violate(world_.violation(), from, &moves_[m]);
            return;
        }
        store_.add(next.bytes.data(), from, static_cast<std::uint8_t>(m));
    }
    if (from % effort_.check_every == 0) {
        check_again(from);
    }
}

/// The same whatever stands for what was not kept?
// NOLINTNEXTLINE(readability-function-cognitive-complexity): one variable after the other
void Search::check_again(std::uint32_t from) {
    for (const Junk junk : {Junk::a_tick, Junk::a_large_step}) {
        for (std::size_t m = 0; m < moves_.size(); ++m) {
            const Successor& next = successors_[m];
            compute(from, junk, m, again_);
            if (again_.possible != next.possible) {
                violate("the canonical form drops what decides whether this can come",
                        from,
                        &moves_[m]);
                return;
            }
            if (!next.possible) {
                continue;
            }
            const bool same = again_.deeds == next.deeds && again_.wrong == next.wrong &&
                              std::equal(again_.bytes.begin(),
                                         again_.bytes.begin() + static_cast<std::ptrdiff_t>(size_),
                                         next.bytes.begin());
            if (!same) {
                std::string what = "the canonical form drops what counts: bytes";
                for (std::size_t b = 0; b < size_; ++b) {
                    if (again_.bytes[b] != next.bytes[b]) {
                        what += " " + std::to_string(b) + " (" + std::to_string(next.bytes[b]) +
                                ", " + std::to_string(again_.bytes[b]) + ")";
                    }
                }
                violate(again_.deeds == next.deeds ? what.c_str()
                                                   : (what + ", and the actions").c_str(),
                        from,
                        &moves_[m]);
                return;
            }
        }
    }
}

/// From every state.
void Search::live() {
    const core::Limits& limits = settings_->limits;
    const Duration wait = limits.longest_shutdown + limits.route_patience +
                          limits.preparing_patience + limits.refusal_shown +
                          limits.longest_back_off;
    const bool at_threshold = settings_->act_on == core::ActOn::threshold;
    const Duration hold =
        alone_ ? settings_->alarms[0].lasting
               : settings_->stages.back().hold + (at_threshold ? limits.guard : Duration::zero());
    for (std::uint32_t i = 0; i < store_.size() && outcome_.why.empty(); ++i) {
        lives_on(i, wait, hold, false);
        lives_on(i, wait, hold, true);
        cut_if_too_long(i);
    }
}

void Search::lives_on(std::uint32_t state, Duration wait, Duration hold, bool bounces) {
    if (!outcome_.why.empty()) {
        return;
    }
    world_.read(store_.at(state));
    const World::Calm calm = world_.live_on(wait, hold, alone_ ? 1 : 0, bounces);
    if (!calm.ok) {
        const std::string why = std::string("from here, long calm, a ") +
                                (bounces ? "bouncing" : "clean") + " hold leads to " +
                                std::to_string(calm.asks) + " requests";
        violate(why.c_str(), state, nullptr);
    }
}

void Search::violate(const char* why, std::uint32_t at, const Move* last) {
    outcome_.end = End::violated;
    outcome_.why = why;
    for (std::uint32_t i = at; store_.from(i) != Store::none; i = store_.from(i)) {
        outcome_.example.insert(outcome_.example.begin(), moves_[store_.move(i)]);
    }
    if (last != nullptr) {
        outcome_.example.push_back(*last);
    }
}

void Search::cut_if_too_long(std::uint32_t done) {
    if (done % 4096 != 0) {
        return;
    }
    if (store_.size() > effort_.states || store_.memory() > effort_.memory) {
        outcome_.why = "too many states; " + std::to_string(done) + " looked at";
    } else if (effort_.seconds > 0 && now_in_seconds() - begun_ > effort_.seconds) {
        outcome_.why = "out of time; " + std::to_string(done) + " states looked at";
    }
}

}  // namespace

Outcome search(const Run& run, const Effort& effort) {
    return Search(run, effort).run();
}

std::string told_example(const Run& run, const Outcome& outcome) {
    World world(std::make_shared<core::Settings>(run.scaled.ticks), run.lateness, run.alphabet);
    std::vector<std::string> lines = told_settings(run.scaled.ticks);
    world.log = &lines;
    for (const Move& move : outcome.example) {
        lines.push_back("// " + text_of(move));
        world.make(move);
    }
    std::string text;
    for (const std::string& line : lines) {
        text += "    " + line + "\n";
    }
    return text;
}

}  // namespace nightlatch::proof
