// SPDX-License-Identifier: MIT
// Never dead: from every state that some inputs lead to, with a calm line and a login manager that
// works again, one clean hold leads to exactly one request in good time. No older call is ever
// answered. Beside it, what must never happen.
#include "property/promises.hpp"
#include "property/scene.hpp"
#include "property/sweep.hpp"
#include "support/enumerate.hpp"

#include <iostream>
#include <set>
#include <string_view>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

/// The second route's patience, or the longest back-off and a trial, and a refusal's show.
constexpr Duration longest_deadline = 5min + 6s;

/// A scene, watched.
class Life {
public:
    Life(State state, const Settings& settings) : scene_(state, settings) {
        scene_.shell.opens = true;
        for (const Left& left : scene_.shell.left()) {
            promises_.left(left.action, left.at);
        }
        looked_ = scene_.shell.left().size();
        if (state == State::refused) {
            promises_.told(Answer{now(), AnswerKind::refused, scene_.last_ask().number}, now());
        } else if (state == State::leaving) {
            promises_.told(GoingDown{now(), true}, now());
        }
    }

    /// Whatever was, no call is answered any more, but new ones are sent.
    std::string recover();

    void edge() {
        scene_.level = !scene_.level;
        scene_.shell.sample(scene_.now, scene_.level);
        pass(10ms);
    }

    /// Due, or over.
    void alarm() {
        alarm_ = !alarm_;
        give(Sample{now(), alarm_, line_of_alarm(0)});
        pass(30ms);
    }

    void press_or_release() { scene_.edge(!scene_.level); }

    void hold() {
        if (scene_.level == Level::inactive) {
            scene_.press();
        }
        pass(4s);
        scene_.release();
    }

    void hum() {
        for (int i = 0; i < 64; ++i) {
            edge();
        }
    }

    /// The release is fed with the next input only: nobody woke up in between.
    void late_release() {
        if (scene_.level == Level::inactive) {
            scene_.press();
            pass(4s);
        }
        scene_.level = Level::inactive;
        scene_.shell.feed(Sample{scene_.now, Level::inactive});
        scene_.now += 1s;
    }

    void false_read() { scene_.shell.feed(LevelRead{scene_.now, !scene_.level}); }

    void pass(Duration time) { scene_.pass(time); }

    void give(const Input& input) {
        promises_.told(input, scene_.now);
        scene_.give(input);
    }

    void answer(AnswerKind kind, std::uint32_t before = 0) {
        const std::uint32_t last = scene_.asks() > 0 ? scene_.last_ask().number : 1;
        give(Answer{scene_.now, kind, last - before});
    }

    void preparing(BeingPrepared told) {
        const bool asked = scene_.count<AskPreparing>() > 0;
        give(Preparing{scene_.now, asked ? scene_.last<AskPreparing>().question : 1, told});
    }

    void look() {
        for (; looked_ < scene_.shell.left().size(); ++looked_) {
            const Left& left = scene_.shell.left()[looked_];
            wrong_ += promises_.left(left.action, left.at);
            const auto* question = std::get_if<AskPreparing>(&left.action);
            if (question != nullptr && scene_.shell.preparing) {  // which answers by itself
                promises_.told(Preparing{left.at, question->question, *scene_.shell.preparing},
                               left.at);
            }
        }
    }

    [[nodiscard]] Instant now() const { return scene_.now; }

    [[nodiscard]] Scene& scene() { return scene_; }

private:
    Scene scene_;
    Promises promises_;
    std::size_t looked_ = 0;
    std::string wrong_;
    Level alarm_ = Level::inactive;
};

std::string Life::recover() {
    look();
    Shell& shell = scene_.shell;
    shell.sends = true;
    shell.preparing = BeingPrepared::no;
    if (scene_.level == Level::active) {
        scene_.level = Level::inactive;
        shell.sample(scene_.now, Level::inactive);
    }
    if (alarm_ == Level::active) {
        alarm();
    }
    give(Preparing{scene_.now,
                   scene_.count<AskPreparing>() > 0 ? scene_.last<AskPreparing>().question : 0,
                   BeingPrepared::no});
    pass(longest_deadline);
    look();
    const Settings& settings = shell.core().settings();
    const std::size_t before = scene_.asks();
    const bool at_rest = scene_.state() == State::rest;
    shell.sample(scene_.now, Level::active);
    pass(settings.stages.front().hold + 100ms);
    shell.sample(scene_.now, Level::inactive);
    pass(settings.release_interval + settings.grace);
    if (scene_.asks() != before + 1) {
        wrong_ += "a clean hold led to " + std::to_string(scene_.asks() - before) + " requests; ";
    }
    if (!at_rest) {
        wrong_ += "not at rest after the longest deadline; ";
    }
    return wrong_.empty() ? "" : wrong_ + "\n" + text_of(shell.notes()) + text_of(shell.left());
}

struct Letter {
    std::string_view name;
    void (*happens)(Life&);
};

const std::vector<Letter> alphabet{
    {"edge", [](Life& l) { l.edge(); }},
    {"press or release", [](Life& l) { l.press_or_release(); }},
    {"hold", [](Life& l) { l.hold(); }},
    {"hum", [](Life& l) { l.hum(); }},
    {"late release", [](Life& l) { l.late_release(); }},
    {"false read", [](Life& l) { l.false_read(); }},
    {"1 s", [](Life& l) { l.pass(1s); }},
    {"35 s", [](Life& l) { l.pass(35s); }},
    {"sends or not", [](Life& l) { l.scene().shell.sends = !l.scene().shell.sends; }},
    {"sent", [](Life& l) { l.answer(AnswerKind::sent); }},
    {"accepted", [](Life& l) { l.answer(AnswerKind::accepted); }},
    {"taken up", [](Life& l) { l.answer(AnswerKind::taken_up); }},
    {"refused", [](Life& l) { l.answer(AnswerKind::refused); }},
    {"would do", [](Life& l) { l.answer(AnswerKind::would_do); }},
    {"the one before refused", [](Life& l) { l.answer(AnswerKind::refused, 1); }},
    {"going down",
     [](Life& l) {
         l.give(GoingDown{l.now(), true});
     }},
    {"not going down",
     [](Life& l) {
         l.give(GoingDown{l.now(), false});
     }},
    {"preparing", [](Life& l) { l.preparing(BeingPrepared::yes); }},
    {"not preparing", [](Life& l) { l.preparing(BeingPrepared::no); }},
    {"cannot tell", [](Life& l) { l.preparing(BeingPrepared::cannot_tell); }},
    {"manager gone",
     [](Life& l) {
         l.give(LoginManager{l.now(), false});
     }},
    {"manager there",
     [](Life& l) {
         l.give(LoginManager{l.now(), true});
     }},
    {"call off", [](Life& l) { l.give(CallOff{l.now()}); }},
    {"alarm", [](Life& l) { l.alarm(); }},
    {"resync", [](Life& l) { l.scene().resync(); }},
    {"line gone", [](Life& l) { l.give(LineGone{l.now()}); }},
    {"chips changed", [](Life& l) { l.give(LineMayBeBack{l.now()}); }},
    {"reload", [](Life& l) { l.scene().reload(l.scene().shell.core().settings()); }},
};

struct Searched {
    std::uint64_t lives = 0;
    std::set<State> ends;
    std::string wrong;
};

void search(const Settings& settings, std::size_t length, Searched& searched) {
    for (std::size_t i = 0; i < state_count && searched.wrong.empty(); ++i) {
        for_each_word(alphabet.size(), length, [&](const std::vector<std::size_t>& word) {
            Life life(static_cast<State>(i), settings);
            for (const std::size_t letter : word) {
                alphabet[letter].happens(life);
                life.look();
            }
            searched.ends.insert(life.scene().state());
            ++searched.lives;
            searched.wrong = life.recover();
            if (!searched.wrong.empty()) {
                std::string story = "from " + std::string(text_of(static_cast<State>(i)));
                for (const std::size_t letter : word) {
                    story += ", " + std::string(alphabet[letter].name);
                }
                searched.wrong = story + ": " + searched.wrong;
            }
            return searched.wrong.empty();
        });
    }
}

Settings lively_settings() {
    Settings settings = Scene::table_settings();
    settings.limits.unsettled = 500ms;  // so that hum is short
    return settings;
}

}  // namespace

TEST_CASE("from wherever three inputs lead, a clean hold asks once when all is well again",
          "[alive]") {
    Searched searched;
    search(lively_settings(), shortened ? 1 : 3, searched);
    INFO(searched.wrong);
    CHECK(searched.wrong.empty());
    CHECK(searched.ends.size() == state_count);
    std::cout << searched.lives << " lives" << std::endl;
}

TEST_CASE("so it does with a countdown", "[alive]") {
    Searched searched;
    Settings counting = lively_settings();
    counting.grace = 5s;
    search(counting, shortened ? 1 : 2, searched);
    INFO(searched.wrong);
    CHECK(searched.wrong.empty());
    std::cout << searched.lives << " lives" << std::endl;
}
