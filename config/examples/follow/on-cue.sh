#!/bin/sh
# SPDX-License-Identifier: MIT
# A chime and a line in a log at each cue. Started by the tool, once for each change:
#
#   nightlatch follow --run ./on-cue.sh
#
# What changed is in the environment (NIGHTLATCH_CUE, _STAGE, _REASON_TEXT, …, or NIGHTLATCH_ANNOUNCED
# alone), the whole record as JSON on standard input. It is run in your account and ended after 10 s.
set -eu

log=${TIDE_LOG:-$HOME/button.log}
sounds=${TIDE_SOUNDS:-/usr/share/sounds/tide}
player=${TIDE_PLAYER:-aplay -q}

note() { printf '%s %s\n' "$(date '+%F %T')" "$*" >>"$log"; }

# A sound that is not there must not spoil the rest.
chime() { [ ! -e "$sounds/$1.wav" ] || $player "$sounds/$1.wav" || true; }

if [ -n "${NIGHTLATCH_ANNOUNCED:-}" ]; then
    note "told: $NIGHTLATCH_ANNOUNCED"
    chime announced
    exit
fi

case $NIGHTLATCH_CUE in
ready) note "let go now: $NIGHTLATCH_STAGE"; chime ready ;;
leaving) note "going down, stage: ${NIGHTLATCH_STAGE:-none}"; chime leaving ;;
refused) note "refused: $NIGHTLATCH_REASON_TEXT"; chime refused ;;
fault | stuck) note "the button needs a look: $NIGHTLATCH_CUE $NIGHTLATCH_REASON_TEXT"; chime fault ;;
*) ;;  # rest, waiting, holding, countdown, and what later versions may add
esac
