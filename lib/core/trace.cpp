// SPDX-License-Identifier: MIT
#include "core/trace.hpp"

#include "base/duration_text.hpp"
#include "core/limits.hpp"
#include "core/storm.hpp"

namespace nightlatch::core {

// One table, a line or two a reason. NOLINTNEXTLINE(readability-function-size)
std::string text_of(Why why) {
    switch (why) {
    case Why::press_accepted:
        return "pressed";
    case Why::release_accepted:
        return "let go";
    case Why::glitch:
        return "a drop-out shorter than the debounce interval: nothing happened";
    case Why::pressed_again:
        return "drop-outs as long as the release interval in all: let go, and pressed again";
    case Why::unsettled:
        return "the line did not settle: the press is void";
    case Why::stage_reached:
        return "held long enough for this stage";
    case Why::near_miss:
        return "let go before any stage: nothing happens";
    case Why::decided:
        return "let go: this stage's action is decided";
    case Why::announced:
        return "announced to those who follow";
    case Why::countdown_begun:
        return "counting down; a press calls it off";
    case Why::called_off:
        return "called off by a press";
    case Why::voided:
        return "what was under way is void";
    case Why::spent:
        return "this press has no further effect";
    case Why::stuck:
        return "pressed for longer than a press can be";
    case Why::pressed_since_start:
        return "reads pressed and was never seen released";
    case Why::resync:
        return "nothing is known of the line before this moment";
    case Why::line_gone:
        return "the button line cannot be had";
    case Why::line_storm:
        return storm_text() + ": the line floats";
    case Why::line_retry:
        return "trying the button line again";
    case Why::asked:
        return "asking the system";
    case Why::no_answer:
        return "no answer in " + to_text(limits::patience) +
               ": the request cannot be recalled and may still act";
    case Why::request_accepted:
        return "the request was accepted";
    case Why::request_refused:
        return "the request was refused";
    case Why::no_post_halt:
        return "refused: the post-halt line is not configured, so the supply would stay on";
    case Why::going_down:
        return "the system is going down";
    case Why::not_going_down:
        return "the shutdown was given up";
    case Why::login_manager_gone:
        return "the login manager left the bus";
    case Why::login_manager_back:
        return "the login manager is on the bus";
    case Why::refusal_over:
        return "the refusal has been shown";
    case Why::alarm:
        return "an alarm line's level has lasted";
    case Why::late_edge:
        return "an edge arrived late; it keeps its own stamp";
    case Why::out_of_order:
        return "an edge older than the one before it: the line is read anew";
    case Why::contradiction:
        return "the level read is not what the edges say";
    case Why::ignored:
        return "of no use in this state";
    }
    return "of no use in this state";
}

}  // namespace nightlatch::core
