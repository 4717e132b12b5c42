# SPDX-License-Identifier: MIT
# Completion for nightlatch(1), read by bash-completion.
_nightlatch() {
    local current=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD - 1]}
    local command=${COMP_WORDS[1]}
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        mapfile -t COMPREPLY < <(compgen -W 'audit bounce check circuit lines rehearse --help --version' -- "$current")
    elif [ "$previous" = --root ]; then
        mapfile -t COMPREPLY < <(compgen -d -- "$current")
    elif [ "$command" = audit ] && [[ $previous == --@(only|skip|explain) ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$(nightlatch audit --rules | cut -d ' ' -f 1)" -- "$current")
    elif [ "$command" = audit ] && [[ $previous == --@(tree|overlay|config) ]]; then
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
    elif [ "$command" = audit ]; then
        mapfile -t COMPREPLY < <(compgen -W '--config --root --tree --overlay --only --skip --all --json
            --explain --rules --help' -- "$current")
    elif [ "$command" = bounce ] && [ "$previous" = --bias ]; then
        mapfile -t COMPREPLY < <(compgen -W 'pull-up pull-down none as-is' -- "$current")
    elif [ "$command" = bounce ] && [ "$previous" = --pressed ]; then
        mapfile -t COMPREPLY < <(compgen -W 'low high' -- "$current")
    elif [ "$command" = bounce ] && [[ $previous == --@(config|wave|vcd) ]]; then
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
    elif [ "$command" = bounce ] && [[ $current == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W '--config --bias --pressed --presses --time --quiet --wave
            --signal --vcd --json --help' -- "$current")
    elif [ "$command" = bounce ]; then
        mapfile -t COMPREPLY < <(compgen -W "$(cd /dev && echo gpiochip[0-9]*)" -- "$current")
    elif [ "$command" = check ] && [[ $current == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W '--json --print --root --help' -- "$current")
    elif [ "$command" = check ]; then
        mapfile -t COMPREPLY < <(compgen -f -X '!*.toml' -- "$current"; compgen -d -- "$current")
    elif [ "$command" = circuit ] && [ "$previous" = --svg ]; then
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
    elif [ "$command" = circuit ] && [[ $current == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W '--json --svg --netlist --percentile --seed --all --help' \
            -- "$current")
    elif [ "$command" = circuit ]; then
        mapfile -t COMPREPLY < <(compgen -f -X '!*.toml' -- "$current"; compgen -d -- "$current")
    elif [ "$command" = lines ] && [ "$previous" = --bias ]; then
        mapfile -t COMPREPLY < <(compgen -W 'pull-up pull-down none as-is' -- "$current")
    elif [ "$command" = lines ] && [[ $current == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W '--all --json --watch --chip --bias --time --help' \
            -- "$current")
    elif [ "$command" = lines ]; then
        mapfile -t COMPREPLY < <(compgen -W "$(cd /dev && echo gpiochip[0-9]*)" -- "$current")
    elif [ "$command" = rehearse ] && [[ $previous == --@(config|wave|svg|vcd) ]]; then
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
    elif [ "$command" = rehearse ] && [[ $current == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W '--config --wave --signal --svg --vcd --all --json --expect
            --print-expect --help' -- "$current")
    elif [ "$command" = rehearse ]; then
        mapfile -t COMPREPLY < <(compgen -f -X '!*.toml' -- "$current"; compgen -d -- "$current")
    fi
}
complete -o filenames -F _nightlatch nightlatch
