// SPDX-License-Identifier: MIT
#include "property/scene.hpp"

#include "base/ensure.hpp"
#include "property/sweep.hpp"

#include <algorithm>

namespace nightlatch::test {

using namespace core;

namespace {

constexpr Duration settling = 30ms;

Settings settings_for(State state) {
    Settings settings = Scene::table_settings();
    if (state == State::countdown) {
        settings.grace = 5s;
    }
    return settings;
}

}  // namespace

Settings Scene::table_settings() {
    Settings settings;
    settings.press_interval = settling;
    settings.release_interval = settling;
    settings.stuck_after = 30s;
    settings.stages = {{.name = "again", .hold = 3s, .action = Action::reboot},
                       {.name = "off", .hold = 6s, .action = Action::power_off}};
    settings.alarms = {{.name = "battery low",
                        .action = Action::power_off,
                        .inhibitors = Inhibitors::override_them}};
    return settings;
}

Scene::Scene(const Settings& settings, Level first)
    : shell(settings, line_start, first), now(line_start), level(first) {
    pass(1s);
}

Scene::Scene(State state)
    : Scene(settings_for(state), state == State::waiting ? Level::active : Level::inactive) {
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
    pass(settling);
}

void Scene::blip() {
    shell.sample(now, !level);
    pass(settling / 3);
    edge(level);
}

void Scene::flutter() {
    for (int drop_outs = 0; drop_outs < 2; ++drop_outs) {
        shell.sample(now, Level::inactive);
        pass(settling / 2);
        press();
    }
}

void Scene::hold(Duration time) {
    press();
    pass(time - settling);
    release();
}

void Scene::give(const Input& input) {
    shell.feed(input);
    shell.wake(now);
}

void Scene::storm() {
    for (int edges = 0; edges < 9'000; ++edges) {
        level = !level;
        shell.sample(now, level);
        pass(250us);
    }
}

const Ask& Scene::last_ask() const {
    const auto& left = shell.left();
    const auto ask = std::find_if(left.rbegin(), left.rend(), [](const Left& each) {
        return std::holds_alternative<Ask>(each.action);
    });
    NIGHTLATCH_ENSURE(ask != left.rend());
    return std::get<Ask>(ask->action);
}

std::size_t Scene::noted(Why why) const {
    const auto& notes = shell.notes();
    return static_cast<std::size_t>(
        std::count_if(notes.begin(), notes.end(), [&](const Note& n) { return n.why == why; }));
}

}  // namespace nightlatch::test
