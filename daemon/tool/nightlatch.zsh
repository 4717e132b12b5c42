#compdef nightlatch
# SPDX-License-Identifier: MIT
# Completion for nightlatch(1), read by zsh's compinit: what the one for bash offers, asked of bash.
local bash_completion=${${funcsourcetrace[1]%:*}:A:h:h:h}/bash-completion/completions/nightlatch
local -a offered
offered=(${(f)"$(bash -c '. "$1" && shift || exit
    COMP_WORDS=("$@") COMP_CWORD=$(($# - 1)) COMPREPLY=()
    _nightlatch
    printf "%s\n" "${COMPREPLY[@]}"' - $bash_completion "${(@)words[1,CURRENT]}" 2>/dev/null)"})
compadd -f -a offered
