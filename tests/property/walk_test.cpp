// SPDX-License-Identifier: MIT
// A random walk over all inputs at once: whatever comes, at most one request is outstanding, none
// leaves while the machine goes down, none without a press or an alarm behind it, and afterwards
// the button still works.
#include "property/promises.hpp"
#include "property/random_line.hpp"
#include "property/safety.hpp"
#include "property/sweep.hpp"

#include <algorithm>
#include <array>
#include <iostream>
#include <set>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

class Walk {
public:
    explicit Walk(std::uint64_t seed) : dice_(seed), settings_(walk_settings()), shell_(settings_) {
        shell_.obeys_resync = false;
        shell_.sends = dice_.one_in(2);
        shell_.true_level = [this](Instant) { return level_; };
    }

    void run(int steps) {
        for (int i = 0; i < steps && wrong_.empty(); ++i) {
            step();
            visited.insert(shell_.core().state());
        }
        if (wrong_.empty()) {
            recover();
        }
    }

    /// Empty, or what was wrong and the end of the trace.
    [[nodiscard]] std::string wrong() const {
        if (wrong_.empty()) {
            return {};
        }
        const auto& notes = shell_.notes();
        const std::size_t from = notes.size() > 40 ? notes.size() - 40 : 0;
        return wrong_ + "\n" + text_of(settings_) + "\n" +
               text_of(std::vector<Note>(notes.begin() + static_cast<std::ptrdiff_t>(from),
                                         notes.end()));
    }

    std::set<State> visited;
    std::uint64_t asks = 0;

private:
    Settings walk_settings() {
        Settings settings = random_settings(dice_);
        if (dice_.one_in(2)) {
            // A deliberate press must still be readable.
            const Duration longer = std::max(settings.press_interval, settings.release_interval);
            settings.limits.unsettled = 500ms + 4 * longer;
            settings.limits.trial_patience = 250ms;
            settings.limits.changes = 20;
        }
        settings.alarms = {{.name = "battery low", .lasting = 0s}};
        settings.without_post_halt =
            dice_.one_in(2) ? WithoutPostHalt::refuse : WithoutPostHalt::warn;
        return settings;
    }

    void step() {
        switch (dice_.below(24)) {
        case 0:
            answer();
            break;
        case 1:
            give(GoingDown{now_, dice_.one_in(2), GoingDownKind::unknown});
            break;
        case 2:
            if (dice_.one_in(2)) {
                give(LoginManager{now_, dice_.one_in(2)});
            } else {
                give(CallOff{now_});
            }
            break;
        case 3:
            if (dice_.one_in(4)) {
                alarm_ = !alarm_;
                give(Sample{now_, alarm_, line_of_alarm(0)});
            }
            break;
        case 4:
            new_verdict();
            break;
        case 5:
            line_event();
            break;
        case 6:
        case 7:
        case 8:
            pass(Duration(1s) * static_cast<std::int64_t>(dice_.below(40)));
            break;
        default:
            edges();
            break;
        }
    }

    /// To the latest request or question, or to an older one.
    void answer() {
        constexpr std::array<AnswerKind, 5> kinds{AnswerKind::sent,
                                                  AnswerKind::accepted,
                                                  AnswerKind::taken_up,
                                                  AnswerKind::refused,
                                                  AnswerKind::would_do};
        constexpr std::array<BeingPrepared, 3> told{
            BeingPrepared::yes, BeingPrepared::no, BeingPrepared::cannot_tell};
        const auto any = [this](std::uint32_t last) {
            return last - static_cast<std::uint32_t>(dice_.below(std::min(last, 1U) + 1));
        };
        if (dice_.one_in(2)) {
            give(Answer{now_, dice_.pick(kinds), any(request_)});
        } else {
            give(Preparing{now_, any(question_), dice_.pick(told)});
        }
    }

    void new_verdict() {
        constexpr std::array<Verdict, 4> verdicts{
            Verdict::configured, Verdict::contradicted, Verdict::absent, Verdict::cannot_tell};
        give(VerdictKnown{now_, dice_.pick(verdicts)});
    }

    void line_event() {
        switch (dice_.below(7)) {
        case 0:
            give(LineGone{now_});
            break;
        case 1:
            give(LineMayBeBack{now_});
            break;
        case 2:
            settings_ = walk_settings();
            give(NewSettings{now_, std::make_shared<const Settings>(settings_)});
            give(Resync{now_, alarm_, ResyncWhy::reload, 0, line_of_alarm(0)});
            resync();
            break;
        case 3:
            resync();
            break;
        case 4:
            sleeps_ = dice_.one_in(2);
            give(LineOpened{now_, sleeps_});
            resync();
            break;
        case 5:
            another_line();
            break;
        default:
            give(Resync{
                now_, level_, ResyncWhy::gap, static_cast<std::uint32_t>(dice_.below(9'000))});
            begin_anew();
            break;
        }
    }

    /// No alarm has it: whatever it says.
    void another_line() {
        const LineIndex line = 2 + static_cast<LineIndex>(dice_.below(3));
        give(LineOpened{now_, dice_.one_in(2), line});
        give(Sample{now_, !level_, line});
        give(LevelRead{now_, !level_, line});
        give(Resync{now_, !level_, ResyncWhy::gap, 9'000, line});
        give(LineGone{now_, line});
    }

    void resync() {
        give(Resync{now_, level_, ResyncWhy::gap, 0});
        begin_anew();
    }

    void begin_anew() { seen_ = {now_, level_, {}, never}; }

    void edges() {
        const model::Line line = random_line(dice_, settings_, 8);
        Instant before = line.start;
        for (const Sample& sample : line.samples) {
            pass(sample.stamp - before);
            before = sample.stamp;
            level_ = dice_.one_in(6) ? level_ : !level_;
            if (!dice_.one_in(40)) {                  // else lost, and nobody says so
                const bool late = dice_.one_in(200);  // or even out of order
                seen_.samples.push_back({late ? now_ - 1s : now_, level_});
                give(seen_.samples.back());
            }
        }
    }

    void pass(Duration time) {
        const Instant until = now_ + time;
        while (shell_.core().next_deadline() <= until) {
            now_ = std::max(now_, shell_.core().next_deadline());
            shell_.wake(now_);
            look();
        }
        now_ = until;
    }

    void give(const Input& input) {
        promises_.told(input, now_);
        shell_.feed(input);
        if (!std::holds_alternative<Sample>(input) || dice_.one_in(2)) {
            shell_.wake(now_);
        }
        look();
    }

    // One branch a kind of action. NOLINTNEXTLINE(readability-function-cognitive-complexity)
    void look() {
        for (; looked_ < shell_.left().size(); ++looked_) {
            const Left left = shell_.left()[looked_];
            wrong_ += promises_.left(left.action, left.at);
            if (const auto* ask = std::get_if<Ask>(&left.action)) {
                ++asks;
                request_ = ask->number;
                if (ask->stage != no_index) {
                    judge(left);
                }
            } else if (std::holds_alternative<Publish>(left.action)) {
                judge(left);
            } else if (const auto* lock = std::get_if<DelayLock>(&left.action)) {
                wrong_ +=
                    looked_ > 0 && lock->hold == lock_ ? "the inhibitor was taken twice; " : "";
                lock_ = lock->hold;
            } else if (const auto* close = std::get_if<CloseLine>(&left.action)) {
                if (close->line == button_line) {
                    begin_anew();
                }
            } else if (const auto* question = std::get_if<AskPreparing>(&left.action)) {
                question_ = question->question;
                if (shell_.preparing) {  // which answers by itself
                    promises_.told(Preparing{left.at, question_, *shell_.preparing}, left.at);
                }
            } else if (const auto* open = std::get_if<OpenLine>(&left.action)) {
                answer_the_line(open->line);
            } else if (const auto* run = std::get_if<RunResync>(&left.action)) {
                answer_the_line(run->line);
            }
        }
    }

    void judge(const Left& left) {
        const std::string missing = unjustified(settings_, seen_, left);
        wrong_ += missing.empty() ? ""
                                  : missing + ": " + text_of(left.action) + " at " +
                                        text_of(left.at) + "\n" + text_of(seen_) + "; ";
    }

    /// OpenLine and RunResync: the shell does as told, or the chip is gone.
    void answer_the_line(LineIndex line) {
        ++looked_;
        const bool button = line == button_line;
        if (dice_.one_in(4)) {
            shell_.feed(LineGone{now_, line});
        } else {
            shell_.feed(Resync{now_, button ? level_ : alarm_, ResyncWhy::reopened, 0, line});
        }
        if (button) {
            begin_anew();
        }
        shell_.wake(now_);
        --looked_;
    }

    /// From here on the line is calm and the login manager works, though it answers no older call:
    /// a deliberate press must work as on the first day.
    void recover() {
        level_ = Level::inactive;
        alarm_ = Level::inactive;
        give(Resync{now_, alarm_, ResyncWhy::gap, 0, line_of_alarm(0)});
        shell_.sends = true;
        shell_.preparing = BeingPrepared::no;
        give(VerdictKnown{now_, Verdict::configured});
        resync();
        give(Preparing{now_, question_, BeingPrepared::no});
        promises_.told(GoingDown{now_, false}, now_);  // as the shell answers from here on
        pass(5min + 10s);  // the longest deadline, and a countdown that may have been under way
        resync();
        pass(10s);
        if (shell_.core().state() != State::rest) {
            wrong_ += "not at rest after all is over; ";
            return;
        }
        const std::size_t before = requests_of(shell_.left()).size();
        const Duration guard =
            std::max(settings_.threshold_guard, sleeps_ ? limits::sleeping_guard : limits::guard);
        const Duration hold = settings_.stages.front().hold + guard;
        press_for(hold);
        pass(settings_.grace + 2s);
        if (requests_of(shell_.left()).size() != before + 1) {
            wrong_ += "a deliberate press does not lead to one request; ";
        }
    }

    void press_for(Duration hold) {
        for (const Level level : {Level::active, Level::inactive}) {
            level_ = level;
            seen_.samples.push_back({now_, level});
            give(Sample{now_, level});
            pass(level == Level::active ? hold : settings_.release_interval);
        }
    }

    Dice dice_;
    Settings settings_;
    Shell shell_;
    Promises promises_;
    Instant now_ = line_start;
    bool sleeps_ = false;
    Level level_ = Level::inactive;
    Level alarm_ = Level::inactive;
    model::Line seen_{line_start, Level::inactive, {}, never};
    std::size_t looked_ = 0;
    bool lock_ = false;
    std::uint32_t request_ = 0;
    std::uint32_t question_ = 0;
    std::string wrong_;
};

}  // namespace

TEST_CASE("whatever comes, one request at most is outstanding and the button works afterwards",
          "[walk]") {
    const std::uint64_t seed = seed_for("walk");
    const std::uint64_t walks = shortened ? 1'000 : 20'000;
    std::set<State> visited;
    std::uint64_t asks = 0;
    for (std::uint64_t i = 0; i < walks; ++i) {
        Walk walk(seed + i);
        walk.run(200);
        if (!walk.wrong().empty()) {
            FAIL("SEED=" << seed + i << " replays this walk first\n" << walk.wrong());
        }
        visited.insert(walk.visited.begin(), walk.visited.end());
        asks += walk.asks;
    }
    std::cout << walks << " walks of 200 steps, " << asks << " requests" << std::endl;
    CHECK(visited.size() == state_count);
    CHECK(asks > walks);
}
