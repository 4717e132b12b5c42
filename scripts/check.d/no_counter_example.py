# SPDX-License-Identifier: MIT
"""Mutations that the quick proofs are right to give no counter-example for; see mutations.py."""

# Why, and the test that notices: scripts/mutate --proofs runs it, and it has to fail.
NO_COUNTER_EXAMPLE = {
    "the trace of a sample allocates":
        ("allocations are no part of a state",
         "a hundred thousand random samples take less than a second and no allocation"),
    "a storm is not noticed":
        ("storms are not searched",
         "more than 2,000 edges a second for 2 s is a storm, then and not before"),
    "one lively second is a storm":
        ("storms are not searched",
         "more than 2,000 edges a second for 2 s is a storm, then and not before"),
    "late edges are not counted":
        ("the count is only told",
         "a release that comes late keeps its stamp: the hold is not made longer"),
    "an alarm's line that can be read again is not told":
        ("it is only told",
         "an alarm's line that can be read again is noted once, with how long it could not"),
    "a shutdown that does not wait for a stuck button says nothing":
        ("it is only told",
         "the delay inhibitor is let go at once unless the line is pressed and not stuck"),
    "nobody is told to look at the post-halt line":
        ("what is known of it is not searched",
         "the post-halt line is looked at once, as the stage is reached that may power off"),
    "a missing post-halt line stops nothing":
        ("what is known of it is not searched",
         "only a power-off is refused without a post-halt line, only if the settings say so"),
    "the guard of a chip that sleeps is that of any":
        ("such a chip is not searched",
         "the guard is that of the chip on which the line was opened last"),
    "pressed again, what was reached still counts":
        ("it is only told",
         "a hold begins anew: what was reached counts no more"),
    "pressed again, a ready press stays ready":
        ("that it is ready is only told, and looks at the post-halt line are not searched",
         "a hundred thousand random samples take less than a second and no allocation"),
    "pressed again, the line has read pressed for as long as before":
        ("it is only told",
         "a level that was there at the start is not a press"),
    "pressed again, a level from the start is a press":
        ("a full hold after drop-outs as long as the release interval is judged as a press of its own, by "
         "the edge that ends them",
         "a level that was there at the start is not a press"),
    "pressed again, a spent press counts":
        ("a full hold after drop-outs as long as the release interval is judged as a press of its own, by "
         "the edge that ends them",
         "a spent press stays spent"),
    "pressed again, a stuck press is one anew":
        ("whether a shutdown waits for the finger is not judged",
         "a stuck press stays stuck and holds nothing back"),
    "the machine goes down under the finger":
        ("whether a shutdown waits for the finger is not judged",
         "the finger still holds the machine back until it is off"),
    "a finger that stays holds the machine for ever":
        ("whether a shutdown waits for the finger is not judged",
         "a finger that stays does not hold the machine for ever"),
    "without a release interval merged edges let go":
        ("an interval of no length is not searched",
         "without a release interval an equal sample is still no release"),
    "whoever may send is not asked for the request":
        ("what is withdrawn is never sent by the world searched",
         "a request that is not sent within 30 s is withdrawn, and may not be sent any more"),
    "CallOff takes an alarm back":
        ("an alarm that is withdrawn is not judged",
         "no press, no trouble of the button's line and no CallOff stops an alarm's request"),
    "messages that wait are lost when the line is read anew":
        ("false reads and answers are not searched together",
         "whatever comes, one request at most is outstanding and the button works afterwards"),
    "a dry run's answer ends a real shutdown":
        ("in the world searched a dry run sends nothing before it answers",
         "a real shutdown that came before the dry run's answer stays one"),
    "messages are heard while the level contradicts":
        ("false reads and answers are not searched together",
         "while a level that was read contradicts, what is not an edge waits in order"),
    "messages are heard before the timers have run":
        ("in the world searched they come when what is due has passed",
         "a press that settled before the answer came is spent, however late the loop is"),
    "an own request that failed is forgotten when the shutdown is given up":
        ("that it ends as refused is only shown; and to the monitor any no ends a shutdown",
         "true, false and the error in any order end in a refusal with its reason"),
    "a shutdown given up leaves the request open":
        ("presses are spent for minutes, not for ever: that one asks is judged after a long calm",
         "true, false and the error in any order end in a refusal with its reason"),
    "rest is entered with the button pressed":
        ("what is pressed is not a press before it was let go, in rest as in waiting: it is only told",
         "a refusal over while the button is pressed leads to waiting"),
    "a reply is taken for that of a request that has not left":
        ("in the world searched nobody answers what was not asked",
         "a reply that comes before the request has left is not this request's"),
    # --- of a line: what a state forgets, and a world that loses no edge
    "a late edge is given the time of its arrival":
        ("when the core was last advanced is no part of a state",
         "a release that comes late keeps its stamp: the hold is not made longer"),
    "drop-outs are counted from press to press":
        ("a state has no drop-outs of a press that is over: the search finds that, and no request",
         "drop-outs of a press that is over are none of the next one's"),
    "edges in the wrong order are taken as they come":
        ("a state has no edge after one in the wrong order: the search finds that, and no request",
         "an edge older than the one before it voids the press and has the line read anew"),
    "a Resync keeps the press":
        ("a state has no press after a Resync: the search finds that, and no request",
         "a Resync voids whatever press was under way, at every moment of it"),
    "level reads are not looked at: acts on a release that was not read":
        ("in the world searched no edge is lost: a read that contradicts is false",
         "a request that the read does not confirm is dropped and never leaves"),
    "deadlines pass though the level read contradicts":
        ("in the world searched no edge is lost: a read that contradicts is false",
         "no deadline passes while the level read contradicts; the late edge then counts"),
    "any later edge explains a contradicting read":
        ("in the world searched no edge is lost: a read that contradicts is false",
         "an edge younger than a contradicting read does not explain it"),
    "a level that came back with no edge is taken as if it had stayed":
        ("in the world searched no edge is lost: a read that contradicts is false",
         "a level that was away at a read and is back with no edge means lost edges"),
    "a contradiction is never answered by reading anew":
        ("in the world searched no edge is lost: a read that contradicts is false",
         "a contradiction that no edge explains is answered by reading the line anew"),
    "a line that is not available is tried again without a pause":
        ("how often a line is tried is not judged",
         "a line that is not available is tried again with back-off, never in a busy loop"),
    "the pauses between the tries do not grow":
        ("how often a line is tried is not judged",
         "the line is tried again with growing pauses, and at once when chips change"),
    # --- of a press and a countdown: that something is asked that might not be is not judged
    "the shortest stage reached acts":
        ("which of the stages reached acts is not judged",
         "the longest stage reached acts, when the button is let go"),
    "a stuck button is a press for ever":
        ("that a press may be too long is not judged",
         "a stuck button costs no wake-ups"),
    "a release from stuck acts":
        ("that a press may be too long is not judged",
         "every cell of the state table leads where the table says"),
    "a press at once after the release calls off":
        ("a countdown that is called off for too little is not judged: that asks for nothing",
         "a call-off is at the first instant at which it is one"),
    "a touch calls off":
        ("a countdown that is called off for too little is not judged: that asks for nothing",
         "three taps in a row are no call-off"),
    "the press that called off counts":
        ("the monitor cannot tell which of two presses called off, and lets the other ask",
         "the press that called off asks for nothing, however long"),
    # --- of what cannot be read: what it voids, and what it costs
    "a line that never settles is waited for, for ever":
        ("that a line cannot be read is not judged",
         "opened again after it could not be read, a line has a second to settle, not ten"),
    "on trial a line may be unsettled for as long as ever":
        ("that a line cannot be read is not judged",
         "opened again after it could not be read, a line has a second to settle, not ten"),
    "long intervals have no more than a second on trial":
        ("intervals so long are not searched",
         "core and model agree on reopened lines, their back-off and their trial"),
    "the settled level may change as often as it likes":
        ("such changes are not counted in the world searched",
         "a hundred and one changes of the settled level within ten seconds are too many"),
    "the first settling is a change":
        ("such changes are not counted in the world searched",
         "core and model agree on reopened lines, their back-off and their trial"),
    "a busy line is quiet":
        ("edges without a pause are not searched",
         "a pause of 100 ms every ten seconds makes a busy line one that can be read"),
    "a line is busy through its pauses":
        ("edges without a pause are not searched",
         "a pause of 100 ms every ten seconds makes a busy line one that can be read"),
    "a line that cannot be read is told at every opening":
        ("it is only told, and how often a line is tried is not judged",
         "edges that never stop are told once, are a fault, and cost a sixtieth of themselves"),
    "a line that was readable for long is neither told so nor told anew":
        ("it is only told",
         "a line that can be read for good is told once, when it has been for 60 s"),
    "a line is readable again as soon as it is open":
        ("that a line cannot be read is not judged",
         "a line on trial is readable again when it has been for 60 s, and only it"),
    "noise takes an alarm's request back":
        ("an alarm that is withdrawn is not judged",
         "no press, no trouble of the button's line and no CallOff stops an alarm's request"),
    "what was accepted is asked for ever":
        ("not in the seconds of a look: the patience ends many steps deep",
         "an accepted request of which nothing comes for 30 s: yes leaves, no is a refusal"),
    "what nobody answers is unanswered for ever":
        ("not in the seconds of a look: two unanswered minutes are many steps deep",
         "no answer is not a refusal: only after two minutes may a new press ask"),
    "unanswered may be over at once":
        ("not in the seconds of a look: what is unanswered comes many steps deep",
         "unanswered lasts for 30 s at least, however long ago it was asked"),
    "a request that is not sent is ended by a question":
        ("not in the seconds of a look: a question before the request has left comes many steps deep",
         "a login manager that goes does not touch a request that is not sent"),
    "what cannot be told about going down is true for ever":
        ("not in the seconds of a look: half an hour of going down is many steps deep",
         "if in leaving it cannot be told for 30 min that counts as false"),
}
