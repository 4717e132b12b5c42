// SPDX-License-Identifier: MIT
#include "core/trace.hpp"

#include "base/duration_text.hpp"
#include "core/limits.hpp"

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
    case Why::stage_reached:
        return "held long enough for this stage";
    case Why::near_miss:
        return "let go before any stage: nothing happens";
    case Why::decided:
        return "let go: this stage's action is decided";
    case Why::announced:
        return "announced to the programs that follow";
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
        return "the button line is not available";
    case Why::line_unreadable:
        return "the button line cannot be read: it floats, or is disturbed";
    case Why::line_unreadable_still:
        return "the button line still cannot be read";
    case Why::line_readable:
        return "the button line can be read again";
    case Why::line_retry:
        return "trying the button line again";
    case Why::asked:
        return "asking the system";
    case Why::request_sent:
        return "the request was sent";
    case Why::not_sent:
        return "the request could not be sent in " + to_text(limits::patience) + ": withdrawn";
    case Why::no_answer:
        return "no answer in " + to_text(limits::patience) +
               ": the request cannot be recalled and may still act";
    case Why::given_up:
        return "no answer in " + to_text(limits::answer_patience) +
               ": a new press may ask again; the old request may still act";
    case Why::request_accepted:
        return "the request was accepted";
    case Why::nothing_came:
        return "the request was accepted, but nothing came of it";
    case Why::request_refused:
        return "the request was refused";
    case Why::request_failed:
        return "the request failed, and a shutdown is under way";
    case Why::answered_late:
        return "an answer to a request that is over";
    case Why::no_post_halt:
        return "refused: the post-halt line is not configured, so the supply would stay on";
    case Why::going_down:
        return "the system is going down";
    case Why::not_going_down:
        return "the shutdown was given up";
    case Why::not_preparing:
        return "the login manager prepares no shutdown: what was under way has failed";
    case Why::preparing_unknown:
        return "nobody says whether a shutdown is being prepared";
    case Why::dry_leaving:
        return "dry run: a real run would go down now";
    case Why::dry_over:
        return "dry run: a real machine would be down by now";
    case Why::called_off_from_outside:
        return "called off by a program";
    case Why::nothing_to_call_off:
        return "there is nothing to call off";
    case Why::login_manager_gone:
        return "the login manager left the bus";
    case Why::login_manager_back:
        return "the login manager is on the bus";
    case Why::refusal_over:
        return "the refusal has been shown";
    case Why::alarm:
        return "the alarm's level has lasted";
    case Why::alarm_again:
        return "the alarm asks again";
    case Why::alarm_over:
        return "the alarm is over";
    case Why::alarm_ignored:
        return "the alarm's level was there at the start: ignored until it has been over";
    case Why::alarm_pending:
        return "the alarm waits for what is under way";
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
