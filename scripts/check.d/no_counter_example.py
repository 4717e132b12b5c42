# SPDX-License-Identifier: MIT
"""Mutations that the quick proofs give no counter-example for; see mutations.py."""

# Those that the quick proofs are right to give no counter-example for, and why.
NO_COUNTER_EXAMPLE = {
    "the trace of a sample allocates": "allocations are no part of a state",
    "a storm is not noticed": "storms are not searched",
    "one lively second is a storm": "storms are not searched",
    "late edges are not counted": "the count is only told",
    "an alarm's line that can be read again is not told": "it is only told",
    "a shutdown that does not wait for a stuck button says nothing": "it is only told",
    "nobody is told to look at the post-halt line": "what is known of it is not searched",
    "a missing post-halt line stops nothing": "what is known of it is not searched",
    "the guard of a chip that sleeps is that of any": "such a chip is not searched",
    # And the test that notices.
    "pressed again, what was reached still counts":
        "it is only told: \"a hold begins anew: what was reached counts no more\"",
    "pressed again, a ready press stays ready":
        "that it is ready is only told, and looks at the post-halt line are not searched: \"a hundred "
        "thousand random samples take less than a second and no allocation\"",
    "pressed again, the line has read pressed for as long as before":
        "it is only told: \"a level that was there at the start is no press\"",
    "pressed again, a stuck press is one anew":
        "whether a shutdown waits for the finger is not judged: \"a stuck press stays stuck and holds "
        "nothing back\"",
    "the machine goes down under the finger":
        "whether a shutdown waits for the finger is not judged: \"the finger still holds the machine "
        "back until it is off\"",
    "a finger that stays holds the machine for ever":
        "whether a shutdown waits for the finger is not judged: \"a finger that stays does not hold "
        "the machine for ever\"",
    "without a release interval merged edges let go":
        "an interval of no length is not searched: \"without a release interval an equal sample is "
        "still no release\"",
    "whoever may send is not asked for the request":
        "what is withdrawn is never sent by the world searched: \"a request that is not sent within "
        "30 s is withdrawn, and may not be sent any more\"",
    "CallOff takes an alarm back":
        "an alarm that is withdrawn is not judged: \"no press, no trouble of the button's line and no "
        "CallOff stops an alarm's request\"",
    "messages that wait are lost when the line is read anew":
        "false reads and answers are not searched together: \"whatever comes, one request at most is "
        "outstanding and the button works afterwards\"",
    "a dry run's answer ends a real shutdown":
        "in the world searched a dry run sends nothing before it answers: \"a real shutdown that came "
        "before the dry run's answer stays one\"",
    "messages are heard while the level contradicts":
        "false reads and answers are not searched together: \"while a level that was read contradicts, "
        "what is no edge waits in order\"",
    "messages are heard before the timers have run":
        "in the world searched they come when what is due has passed: \"a press that settled before "
        "the answer came is spent, however late the loop is\"",
}
