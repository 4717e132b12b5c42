# SPDX-License-Identifier: MIT
"""What scripts/mutate breaks: the core's rules, one at a time."""

CORE = "lib/core/core.cpp"
LINE = "lib/core/core_line.cpp"
REQUESTS = "lib/core/core_requests.cpp"
DEBOUNCE = "lib/core/debounce.cpp"
INTERVALS = "lib/core/debounce.hpp"
STORM = "lib/core/storm.cpp"

# What it breaks: edits of (file, text that occurs exactly once, what stands there instead).
MUTATIONS = {
    # --- the press's beginning and end
    "no wait at start: a level found pressed is a press": [
        (DEBOUNCE, "known ? SettleKind::pressed : SettleKind::found_pressed",
         "SettleKind::pressed"),
        (LINE, "    case State::rest:\n    case State::refused:\n        reached_ = no_index;",
         "    case State::waiting:\n    case State::rest:\n    case State::refused:\n"
         "        reached_ = no_index;"),
        (LINE, "        note(press.at, Why::spent);\n        break;\n    case State::waiting:\n",
         "        note(press.at, Why::spent);\n        break;\n"),
    ],
    "the wait after a Resync lasts no time": [
        (DEBOUNCE, "return stable_since_ + (raw_ == Level::active ? press_ : release_);",
         "return stable_since_ + (!settled_ ? Duration{} : raw_ == Level::active ? press_ : release_);"),
    ],
    "a press begins at its first edge": [
        (DEBOUNCE, "SettleKind::found_pressed, at, stable_since_}",
         "SettleKind::found_pressed, at, known ? episode_start_ : stable_since_}"),
    ],
    "a press ends at its last edge": [
        (DEBOUNCE, "known ? episode_start_ : stable_since_", "stable_since_"),
    ],
    "a press ends when its release has settled": [
        (DEBOUNCE, "return {SettleKind::released, at, first};",
         "return {SettleKind::released, at, first > at ? first : at};"),
    ],
    "the release interval is ignored": [
        (DEBOUNCE, "    release_ = release;", "    release_ = press < release ? press : release;"),
    ],
    "a release counts at once": [
        (DEBOUNCE, "(raw_ == Level::active ? press_ : release_)",
         "(raw_ == Level::active ? press_ : Duration{})"),
    ],
    "equal samples are ignored": [
        (DEBOUNCE, "    if (settled_ && !unsettled_) {\n",
         "    if (raw_ == sample.level) {\n        return;\n    }\n    if (settled_ && !unsettled_) {\n"),
    ],
    "a glitch restarts the hold": [
        (LINE, "        note(settled.at, Why::glitch, settled.at - settled.edge);",
         "        press_begin_ = settled.at;\n"
         "        note(settled.at, Why::glitch, settled.at - settled.edge);"),
    ],
    "an episode that never settles is never void": [
        (DEBOUNCE, "return settled_ ? episode_start_ + ", "return false ? episode_start_ + "),
    ],
    "a void episode leaves the press as it was": [
        (LINE, "        note(settled.at, Why::unsettled, settled.at - settled.edge);\n"
               "        on_resync(settled.at);",
         "        note(settled.at, Why::unsettled, settled.at - settled.edge);"),
    ],
    "long intervals void after one second all the same": [
        (INTERVALS, "limits::episode_intervals * std::max(press, release)", "Duration::zero()"),
    ],
    # --- let go within drop-outs
    "drop-outs do not add up": [
        (DEBOUNCE, "        dropped_ += sample.stamp - stable_since_;",
         "        dropped_ = sample.stamp - stable_since_;"),
    ],
    "drop-outs add up within their episode only": [
        (DEBOUNCE, "        episode_start_ = sample.stamp;",
         "        episode_start_ = sample.stamp;\n        dropped_ = Duration::zero();"),
    ],
    "drop-outs have to be longer than the release interval": [
        (DEBOUNCE, "dropped_ >= release_;", "dropped_ > release_;"),
    ],
    "drop-outs may be a millisecond short of the release interval": [
        (DEBOUNCE, "dropped_ >= release_;", "dropped_ >= release_ - std::chrono::milliseconds(1);"),
    ],
    "drop-outs are counted from press to press": [
        (DEBOUNCE, "        dropped_ = Duration::zero();\n        return {known", "        return {known"),
    ],
    "pressed again, the drop-outs before count too": [
        (DEBOUNCE, "std::exchange(dropped_, Duration::zero())", "dropped_"),
    ],
    "the time pressed within an episode is a drop-out too": [
        (DEBOUNCE, "    if (settled_ == Level::active && raw_ == Level::inactive) {",
         "    if (settled_ == Level::active && episode_start_ < sample.stamp) {"),
    ],
    "without a release interval merged edges let go": [
        (DEBOUNCE, "dropped_ > Duration::zero() && dropped_", "dropped_"),
    ],
    "pressed again, a press begins at the episode's first edge": [
        (DEBOUNCE, "            stable_since_,\n            episode_start_,",
         "            episode_start_,\n            episode_start_,"),
    ],
    "pressed again, a press keeps its begin": [
        (LINE, "        press_begin_ = again.edge;\n", ""),
    ],
    "pressed again, what was reached still counts": [
        (LINE, "        reached_ = no_index;\n        enter(State::holding, again.at,",
         "        enter(State::holding, again.at,"),
    ],
    "pressed again, a ready press stays ready": [
        (LINE, "        enter(State::holding, again.at, Why::pressed_again, again.dropped);",
         "        enter(state_, again.at, Why::pressed_again, again.dropped);"),
    ],
    "pressed again, a level from the start is a press": [
        (LINE, "    case State::waiting:\n    case State::rest:\n    case State::stuck:\n"
               "    case State::countdown:\n    case State::asked:\n    case State::unanswered:\n"
               "    case State::leaving:\n    case State::refused:\n    case State::fault:\n"
               "        note(again.at,",
         "    case State::waiting:\n        enter(State::holding, again.at, Why::pressed_again);\n"
         "        break;\n    case State::rest:\n    case State::stuck:\n"
         "    case State::countdown:\n    case State::asked:\n    case State::unanswered:\n"
         "    case State::leaving:\n    case State::refused:\n    case State::fault:\n"
         "        note(again.at,"),
    ],
    "pressed again, the line has read pressed for as long as before": [
        (LINE, "        waiting_pressed_since_ = again.edge;\n", ""),
    ],
    "pressed again, a spent press counts": [
        (LINE, "    case State::leaving:\n    case State::refused:\n    case State::fault:\n"
               "        note(again.at,",
         "    case State::leaving:\n    case State::fault:\n        note(again.at,"),
        (LINE, "    case State::ready:\n        reached_ = no_index;\n"
               "        enter(State::holding, again.at,",
         "    case State::ready:\n    case State::refused:\n        reached_ = no_index;\n"
         "        enter(State::holding, again.at,"),
    ],
    "pressed again, a stuck press is one anew": [
        (LINE, "    const bool stuck = again.opened >= press_begin_ + settings_->stuck_after;",
         "    const bool stuck = false;"),
    ],
    "pressed again, a press from before an alarm calls it off": [
        (LINE, "    const bool spent = state_ == State::countdown && press_begin_ < decision_.released;",
         "    const bool spent = false;"),
    ],
    # --- late, lost and contradicting
    "a late edge is given the time of its arrival": [
        (LINE, "    debounce_.sample(sample);",
         "    debounce_.sample({std::max(sample.stamp, advanced_), sample.level});"),
    ],
    "an edge older than what has settled changes nothing": [
        (LINE, "    if (sample.stamp < settled_at_) {", "    if (false) {"),
    ],
    "edges in the wrong order are taken as they come": [
        (LINE, "    if (sample.stamp < debounce_.last_sample()) {", "    if (false) {"),
    ],
    "late edges are not counted": [
        (LINE, "        ++late_edges_;\n", ""),
    ],
    "level reads are not looked at: acts on a release that was not read": [
        (LINE, "    if (read.level == debounce_.raw()) {",
         "    if (read.level == debounce_.raw() || true) {"),
    ],
    "deadlines pass though the level read contradicts": [
        (CORE, "    if (contradiction_ && now < *contradiction_ + limits::contradiction_patience) {\n"
               "        return;\n    }\n    if (contradiction_) {",
         "    if (contradiction_ && now >= *contradiction_ + limits::contradiction_patience) {"),
    ],
    "any later edge explains a contradicting read": [
        (LINE, "    if (contradiction_ && sample.stamp > *contradiction_) {", "    if (false) {"),
    ],
    "a level that came back with no edge is taken as if it had stayed": [
        (LINE, "        if (contradiction_) {  // the level came back",
         "        contradiction_.reset();\n        if (contradiction_) {  // the level came back"),
    ],
    "a contradiction is never answered by reading anew": [
        (CORE, "    if (contradiction_) {\n        demand_resync(now, ResyncWhy::contradiction);",
         "    if (contradiction_) {\n        contradiction_.reset();"),
    ],
    "a request leaves when it is decided, before any read": [
        (CORE, "    std::visit([this](const auto& given) { take(given); }, input);",
         "    std::visit([this](const auto& given) { take(given); }, input);\n"
         "    if (unconfirmed_) {\n        actions_.push(*unconfirmed_);\n"
         "        unconfirmed_.reset();\n    }"),
    ],
    "a Resync keeps the press": [
        (LINE, "    case State::stuck:\n    case State::countdown:\n"
               "        enter(State::waiting, at, Why::voided);",
         "    case State::stuck:\n    case State::countdown:\n        note(at, Why::voided);"),
    ],
    "a Resync does not end a countdown": [
        (LINE, "    case State::stuck:\n    case State::countdown:\n"
               "        enter(State::waiting, at, Why::voided);",
         "    case State::stuck:\n        enter(State::waiting, at, Why::voided);\n        break;\n"
         "    case State::countdown:\n        note(at, Why::voided);"),
    ],
    "a storm is not noticed": [
        (STORM, "    return hot_seconds_ >= limits::storm_seconds;", "    return false;"),
    ],
    "one lively second is a storm": [
        (STORM, "    return hot_seconds_ >= limits::storm_seconds;", "    return hot_seconds_ >= 1;"),
    ],
    "a line that cannot be had is tried again without a pause": [
        (LINE, "    retry_at_ = at + back_off_;", "    retry_at_ = at;"),
    ],
    "the pauses between the tries do not grow": [
        (LINE, "    back_off_ = std::min(2 * back_off_, limits::longest_back_off);\n", ""),
    ],
    # --- stages, stuck, threshold
    "a hold a millisecond short reaches its stage": [
        (REQUESTS, "settings_->stages[i].hold <= held", "settings_->stages[i].hold <= held + 1ms"),
    ],
    "a hold of exactly the stage's length does not reach it": [
        (REQUESTS, "settings_->stages[i].hold <= held", "settings_->stages[i].hold < held"),
    ],
    "the shortest stage reached acts": [
        (REQUESTS, "        stage = i;", "        stage = stage == no_index ? i : stage;"),
    ],
    "a stuck button is a press for ever": [
        (CORE, "        due = press_begin_ + settings_->stuck_after;\n        if (const",
         "        if (const"),
    ],
    "a release from stuck acts": [
        (LINE, "    case State::stuck:\n        enter(State::rest, release.at,",
         "    case State::stuck:\n        decide_stage(release.at, release.edge);\n        break;\n"
         "        enter(State::rest, release.at,"),
    ],
    "the threshold has no guard": [
        (CORE, "if (settings_->act_on == ActOn::release) {\n        return Duration::zero();",
         "if (true) {\n        return Duration::zero();"),
    ],
    "the guard of a chip that sleeps is that of any": [
        (CORE, "line_sleeps_ ? limits::sleeping_guard : limits::guard", "limits::guard"),
    ],
    "what another line says is taken for the button's": [
        (LINE, "    if (elsewhere) {\n        note(*elsewhere, Why::ignored);\n    }\n"
               "    return elsewhere.has_value();", "    return false && elsewhere;"),
    ],
    "nobody is told to look at the post-halt line": [
        (CORE, "if (std::exchange(look_wanted_, false)) {", "if (false) {"),
    ],
    "acting on the threshold waits for the release": [
        (CORE, "        if (settings_->act_on == ActOn::threshold) {\n            decide_stage(at, at);",
         "        if (false) {\n            decide_stage(at, at);"),
    ],
    "what was not confirmed pressed passes its stage inside an episode": [
        (CORE, "    if (!debounce_.confirmed_pressed()) {\n        return never;",
         "    if (!debounce_.settled_pressed()) {\n        return never;"),
    ],
    # --- countdown
    "the grace is ignored": [
        (REQUESTS, "    if (settings_->grace > Duration::zero()) {", "    if (false) {"),
    ],
    "a press at once after the release calls off": [
        (CORE, "    return begin >= decision_.released + limits::call_off_pause;",
         "    return begin >= decision_.released;"),
    ],
    "a touch calls off": [
        (LINE, "held >= limits::call_off_hold", "held >= Duration::zero()"),
    ],
    "a press under way does not keep the countdown from its end": [
        (CORE, "    return undecided ? never :", "    return undecided && false ? never :"),
    ],
    "the press that called off counts": [
        (CORE, "    } else if (state_ == State::countdown) {\n        to_rest(at, Why::called_off);",
         "    } else if (state_ == State::countdown) {\n"
         "        enter(State::holding, at, Why::called_off);"),
    ],
    # --- requests
    "a second request while one is asked": [
        (LINE, "    case State::rest:\n    case State::refused:\n        reached_ = no_index;",
         "    case State::rest:\n    case State::asked:\n    case State::refused:\n"
         "        reached_ = no_index;"),
        (LINE, "    case State::asked:\n    case State::unanswered:\n    case State::leaving:\n"
               "        note(press.at, Why::spent);",
         "    case State::unanswered:\n    case State::leaving:\n"
         "        note(press.at, Why::spent);"),
    ],
    "no answer counts as a refusal": [
        (CORE, "        enter(State::unanswered, at, Why::no_answer);",
         "        state_until_ = at + 5s;\n        enter(State::refused, at, Why::no_answer);"),
    ],
    "patience never ends": [
        (CORE, "    case State::asked:\n    case State::refused:\n"
               "        return std::min(due, state_until_);",
         "    case State::asked:\n        return due;\n    case State::refused:\n"
         "        return std::min(due, state_until_);"),
    ],
    "a refusal is never over": [
        (CORE, "    case State::asked:\n    case State::refused:\n"
               "        return std::min(due, state_until_);",
         "    case State::refused:\n        return due;\n    case State::asked:\n"
         "        return std::min(due, state_until_);"),
    ],
    "an alarm asks although a request is under way": [
        (REQUESTS, "    case State::countdown:\n        ask(decision);\n        break;\n"
                   "    case State::asked:\n",
         "    case State::asked:\n    case State::countdown:\n        ask(decision);\n        break;\n"),
    ],
    "a missing post-halt line stops an alarm": [
        (REQUESTS, "stays_on && !by_alarm &&", "stays_on &&"),
    ],
    "a missing post-halt line stops nothing": [
        (REQUESTS, "stays_on && !by_alarm &&", "false && stays_on && !by_alarm &&"),
    ],
    "a reply is taken for that of a request that has not left": [
        (REQUESTS, "    if (unconfirmed_) {  // has not left yet",
         "    if (false) {  // has not left yet"),
    ],
    "somebody's shutdown does not end a hold": [
        (REQUESTS, "    enter(State::leaving, going.at, Why::going_down);",
         "    if (state_ != State::holding) {\n"
         "        enter(State::leaving, going.at, Why::going_down);\n    }"),
    ],
    "a shutdown given up leaves the request open": [
        (REQUESTS, "        to_waiting(at, Why::not_going_down);",
         "        enter(State::asked, at, Why::not_going_down);"),
    ],
    "the login manager's return is not noticed": [
        (REQUESTS, "    const bool failed = own_request_ &&", "    const bool failed = false &&"),
    ],
    "rest is entered with the button pressed": [
        (CORE, "    } else if (debounce_.settled_released()) {", "    } else if (true) {"),
    ],
    "the machine goes down under the finger": [
        (REQUESTS, "    holding_back_ = kind != GoingDownKind::reboot &&",
         "    holding_back_ = false && kind != GoingDownKind::reboot &&"),
    ],
    "a finger that stays holds the machine for ever": [
        (CORE, "        if (holding_back_) {\n            due =",
         "        if (false) {\n            due ="),
    ],
    "the trace of a sample allocates": [
        (CORE, "    notes_.push({at, why, state_, state_, length, index});",
         "    notes_.push({at, why, state_, state_, length, index});\n"
         "    delete new std::string(40, 'x');"),
    ],
}
