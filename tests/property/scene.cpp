// SPDX-License-Identifier: MIT
#include "property/scene.hpp"

#include "base/ensure.hpp"
#include "property/sweep.hpp"

#include <algorithm>

namespace nightlatch::test {

using namespace core;

namespace {

Settings settings_for(State state, Settings settings) {
    if (state == State::countdown && settings.grace == 0s) {
        settings.grace = 5s;
    }
    return settings;
}

}  // namespace

Settings Scene::table_settings() {
    Settings settings;
    settings.press_interval = 30ms;
    settings.release_interval = 30ms;
    settings.stuck_after = 30s;
    settings.stages = {{.name = "again", .hold = 3s, .action = Action::reboot},
                       {.name = "off", .hold = 6s, .action = Action::power_off}};
    settings.alarms = {{.name = "battery low",
                        .action = Action::power_off,
                        .inhibitors = Inhibitors::override_them,
                        .lasting = 0s},
                       {.name = "too hot", .lasting = 0s}};
    return settings;
}

Scene::Scene(const Settings& settings, Level first)
    : shell(settings, line_start, first), now(line_start), level(first),
      settling_(std::max(settings.press_interval, settings.release_interval)) {
    pass(1s);
}

Scene::Scene(State state, const Settings& settings)
    : Scene(settings_for(state, settings),
            state == State::waiting ? Level::active : Level::inactive) {
    switch (state) {
    case State::waiting:
    case State::rest:
        break;
    case State::holding:
    case State::ready:
    case State::stuck:
        press();
        pass(state == State::holding ? 1s : state == State::ready ? 4s : 31s);
        break;
    case State::countdown:
        hold(4s);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::refused:
        hold(4s);
        pass(settings.grace);
        if (state == State::unanswered) {
            pass(30s);
        } else if (state == State::leaving) {
            going_down(true);
        } else if (state == State::refused) {
            answer(AnswerKind::refused);
        }
        break;
    case State::fault:
        give(LineGone{now});
        break;
    }
    NIGHTLATCH_ENSURE(this->state() == state);
}

void Scene::pass(Duration time) {
    now += time;
    shell.wait(now);
}

void Scene::edge(Level to) {
    level = to;
    shell.sample(now, to);
    pass(settling_);
}

void Scene::blip() {
    shell.sample(now, !level);
    pass(settling_ / 3);
    edge(level);
}

void Scene::flutter() {
    for (int drop_outs = 0; drop_outs < 2; ++drop_outs) {
        shell.sample(now, Level::inactive);
        pass(settling_ / 2);
        press();
    }
}

void Scene::hold(Duration time) {
    press();
    pass(time - settling_);
    release();
}

void Scene::alarm() {
    give(Sample{now, Level::active, line_of_alarm(alarms_due_++)});
    pass(settling_);
}

void Scene::give(const Input& input) {
    shell.feed(input);
    shell.wake(now);
}

void Scene::reload(const Settings& settings) {
    give(NewSettings{now, std::make_shared<const Settings>(settings)});
    resync();
}

void Scene::storm() {
    for (int edges = 0; edges < 9'000; ++edges) {
        level = !level;
        shell.sample(now, level);
        pass(250us);
    }
}

void Scene::preparing(BeingPrepared told) {
    give(Preparing{now, last<AskPreparing>().question, told});
}

std::size_t Scene::noted(Why why) const {
    const auto& notes = shell.notes();
    return static_cast<std::size_t>(
        std::count_if(notes.begin(), notes.end(), [&](const Note& n) { return n.why == why; }));
}

}  // namespace nightlatch::test
