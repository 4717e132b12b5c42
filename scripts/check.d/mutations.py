# SPDX-License-Identifier: MIT
"""What scripts/mutate breaks: the core's rules, one at a time."""

CORE = "lib/core/core.cpp"
LINE = "lib/core/core_line.cpp"
REQUESTS = "lib/core/core_requests.cpp"
TIME = "lib/core/core_time.cpp"
SHUTDOWN = "lib/core/core_shutdown.cpp"
ALARMS = "lib/core/core_alarms.cpp"
DEBOUNCE = "lib/core/debounce.cpp"
STORM = "lib/core/storm.cpp"
ONE_LINE = "lib/core/line.cpp"
READABILITY = "lib/core/readability.cpp"

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
        (LINE, "    waiting_pressed_since_ = again.edge;\n", ""),
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
    # --- late, lost and contradicting
    "a late edge is given the time of its arrival": [
        (LINE, "line_.is_open() && line_.sample(sample)",
         "line_.is_open() && line_.sample({std::max(sample.stamp, advanced_), sample.level})"),
    ],
    "an edge older than what has settled changes nothing": [
        (ONE_LINE, "    if (sample.stamp < settled_at_) {", "    if (false) {"),
    ],
    "edges in the wrong order are taken as they come": [
        (ONE_LINE, "    if (sample.stamp < debounce_.last_sample()) {", "    if (false) {"),
    ],
    "late edges are not counted": [
        (LINE, "        ++late_edges_;\n", ""),
    ],
    "level reads are not looked at: acts on a release that was not read": [
        (ONE_LINE, "    if (read.level == debounce_.raw()) {",
         "    if (read.level == debounce_.raw() || true) {"),
    ],
    "deadlines pass though the level read contradicts": [
        (CORE, "        if (now < contradicted + limits().contradiction_patience) {\n"
               "            return;\n        }\n        demand_resync(",
         "        if (now >= contradicted + limits().contradiction_patience)\n        demand_resync("),
    ],
    "any later edge explains a contradicting read": [
        (ONE_LINE, "sample.stamp > contradiction_ ? EdgeIs::unexplained : EdgeIs::good",
         "EdgeIs::good"),
    ],
    "a level that came back with no edge is taken as if it had stayed": [
        (ONE_LINE, "        contradiction_ = read_failed_ ? never : contradiction_;\n"
                   "        return again && !read_failed_ ? ReadSays::lost_edges : ReadSays::nothing;",
         "        contradiction_ = never;\n        return ReadSays::nothing;"),
    ],
    "a contradiction is never answered by reading anew": [
        (CORE, "        demand_resync(now, ResyncWhy::contradiction);", "        line_.expect();"),
    ],
    "a request leaves when it is decided, before any read": [
        (CORE, "        input);\n    update_delay_lock();",
         "        input);\n    if (unconfirmed_) {\n        actions_.push(*unconfirmed_);\n"
         "        unconfirmed_.reset();\n    }\n    update_delay_lock();"),
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
    "a line that is not available is tried again without a pause": [
        (ONE_LINE, "    retry_at_ = at + back_off_;", "    retry_at_ = at;"),
    ],
    "the pauses between the tries do not grow": [
        (ONE_LINE, "std::clamp(2 * back_off_, limits_->first_back_off, limits_->longest_back_off)",
         "limits_->first_back_off"),
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
        (TIME, "        due = press_begin_ + settings_->stuck_after;\n        if (const",
         "        if (const"),
    ],
    "a release from stuck acts": [
        (LINE, "    case State::stuck:\n        enter(State::rest, release.at,",
         "    case State::stuck:\n        decide_stage(release.at, release.edge);\n        break;\n"
         "        enter(State::rest, release.at,"),
    ],
    "the threshold has no guard": [
        (TIME, "if (settings_->act_on == ActOn::release) {\n        return Duration::zero();",
         "if (true) {\n        return Duration::zero();"),
    ],
    "the guard of a chip that sleeps is that of any": [
        (TIME, "line_.sleeps() ? limits().sleeping_guard : limits().guard", "limits().guard"),
    ],
    "nobody is told to look at the post-halt line": [
        (CORE, "if (std::exchange(look_wanted_, false)) {", "if (false) {"),
    ],
    "acting on the threshold waits for the release": [
        (TIME, "        if (settings_->act_on == ActOn::threshold) {\n            decide_stage(at, at);",
         "        if (false) {\n            decide_stage(at, at);"),
    ],
    "what was not confirmed pressed passes its stage inside an episode": [
        (TIME, "    if (!line_.debounce().confirmed_pressed()) {\n        return never;",
         "    if (!line_.debounce().settled_pressed()) {\n        return never;"),
    ],
    # --- countdown
    "the grace is ignored": [
        (REQUESTS, "    if (settings_->grace > Duration::zero()) {", "    if (false) {"),
    ],
    "a press at once after the release calls off": [
        (TIME, "std::max(decision_.released + limits().call_off_pause,",
         "std::max(decision_.released,"),
    ],
    "a touch calls off": [
        (TIME, "press_begin_ + limits().call_off_hold", "press_begin_"),
    ],
    "a press under way does not keep the countdown from its end": [
        (TIME, "    return undecided ? never :", "    return undecided && false ? never :"),
    ],
    "the press that called off counts": [
        (TIME, "    } else if (state_ == State::countdown) {\n        to_rest(at, Why::called_off);",
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
        (REQUESTS, "        to_unanswered(at, Why::no_answer);", "        refuse(at, Why::no_answer);"),
    ],
    "patience never ends": [
        (TIME, "    case State::asked:\n    case State::unanswered:\n    case State::leaving:\n"
               "    case State::refused:\n        return state_until_;",
         "    case State::asked:\n        return never;\n    case State::unanswered:\n"
         "    case State::leaving:\n    case State::refused:\n        return state_until_;"),
    ],
    "a refusal is never over": [
        (TIME, "    case State::leaving:\n    case State::refused:\n        return state_until_;",
         "    case State::leaving:\n        return state_until_;\n    case State::refused:\n"
         "        return never;"),
    ],
    "a missing post-halt line stops nothing": [
        (REQUESTS, "Action::power_off && stays_on &&", "Action::power_off && false && stays_on &&"),
    ],
    "a reply is taken for that of a request that has not left": [
        (REQUESTS, "answer.request == request_.number && !unconfirmed_;",
         "answer.request == request_.number;"),
    ],
    "somebody's shutdown does not end a hold": [
        (SHUTDOWN, "    enter(State::leaving, at, why);",
         "    if (state_ != State::holding) {\n        enter(State::leaving, at, why);\n    }"),
    ],
    "a shutdown given up leaves the request open": [
        (SHUTDOWN, "        if (own_) {\n            refuse(at, why);",
         "        if (own_) {\n            enter(State::asked, at, why);"),
    ],
    "the login manager's return is not noticed": [
        (SHUTDOWN, "        note(manager.at, Why::login_manager_back);\n        ask_preparing(manager.at);",
         "        note(manager.at, Why::login_manager_back);"),
    ],
    "rest is entered with the button pressed": [
        (CORE, "    } else if (line.settled_released()) {", "    } else if (true) {"),
    ],
    "the machine goes down under the finger": [
        (SHUTDOWN, "    holding_back_ = pressed && !stuck;", "    holding_back_ = false;"),
    ],
    "a finger that stays holds the machine for ever": [
        (TIME, "        if (holding_back_) {\n            due =",
         "        if (false) {\n            due ="),
    ],
    # --- lines that cannot be read
    "a line that never settles is waited for, for ever": [
        (READABILITY, "    return on_trial(sooner) ? sooner : since + limits_->unsettled;",
         "    return never;"),
    ],
    "on trial a line may be unsettled for as long as ever": [
        (READABILITY, "    return on_trial(sooner) ? sooner : since + limits_->unsettled;",
         "    return since + limits_->unsettled;"),
    ],
    "long intervals have no more than a second on trial": [
        (READABILITY, "std::max(limits.trial_patience, limits.trial_intervals * longer_interval)",
         "std::max(limits.trial_patience, 0 * longer_interval)"),
    ],
    "the settled level may change as often as it likes": [
        (READABILITY, "    return too_many;", "    return false;"),
    ],
    "the first settling is a change": [
        (ONE_LINE, "    const bool change = before && before", "    const bool change = before"),
    ],
    "a busy line is quiet": [
        (READABILITY, "    return storm || stamp >= busy_since_ + within(stamp, limits_->busy);",
         "    return storm;"),
    ],
    "a line is busy through its pauses": [
        (READABILITY, "last_edge_ == Instant::min() || stamp >= last_edge_ + limits_->busy_pause",
         "last_edge_ == Instant::min()"),
    ],
    "a line that cannot be read is told at every opening": [
        (READABILITY, "    if (suspect_) {\n        return false;",
         "    if (false) {\n        return false;"),
    ],
    "a line that was readable for long is neither told so nor told anew": [
        (READABILITY, "    return suspect_ ? opened_at_ + limits_->trial : never;", "    return never;"),
    ],
    "a line is readable again as soon as it is open": [
        (READABILITY, "    return suspect_ ? opened_at_ + limits_->trial : never;",
         "    return suspect_ ? opened_at_ : never;"),
    ],
    "an alarm's line that can be read again is not told": [
        (ALARMS, "        note_readable(alarm, at);", "        alarm.line().readable_again();"),
    ],
    "a shutdown that does not wait for a stuck button says nothing": [
        (SHUTDOWN, "    if (stuck) {\n        note(", "    if (false) {\n        note("),
    ],
    "noise takes a request back that was sent": [
        (REQUESTS, "    if (request_.open && !request_.sent) {\n        withdraw();\n"
                   "        enter(State::waiting, at, Why::voided);",
         "    if (request_.open) {\n        withdraw();\n"
         "        enter(State::waiting, at, Why::voided);"),
    ],
    "noise takes an alarm's request back": [
        (REQUESTS, "    if (decision_.alarm != no_index) {\n        return false;",
         "    if (false) {\n        return false;"),
    ],
}
