# SPDX-License-Identifier: MIT
# Completion for nightlatch(1), read by bash-completion.
_nightlatch() {
    local current=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD - 1]}
    local command=${COMP_WORDS[1]}
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        mapfile -t COMPREPLY < <(compgen -W 'check --help --version' -- "$current")
    elif [ "$previous" = --root ]; then
        mapfile -t COMPREPLY < <(compgen -d -- "$current")
    elif [ "$command" = check ] && [[ $current == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W '--json --print --root --help' -- "$current")
    elif [ "$command" = check ]; then
        mapfile -t COMPREPLY < <(compgen -f -X '!*.toml' -- "$current"; compgen -d -- "$current")
    fi
}
complete -o filenames -F _nightlatch nightlatch
