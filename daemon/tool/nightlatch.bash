# SPDX-License-Identifier: MIT
# Completion for nightlatch(1), read by bash-completion.
_nightlatch() {
    local current=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD - 1]}
    local command=${COMP_WORDS[1]} words=
    local -A options=(
        [audit]='--config --root --tree --overlay --kernel --kernel-config --only --skip --all
                 --json --save --against --explain --rules'
        [bounce]='--config --bias --pressed --presses --time --quiet --wave --signal
                 --threshold --vcd --json'
        [call-off]=
        [check]='--config --json --print --root'
        [circuit]='--config --json --svg --netlist --starter --percentile --seed --all --no-advice --wave --line
                 --hold --rail --probe'
        [follow]='--json --full-screen --once --end-at --run --limit'
        [lines]='--all --json --watch --chip --bias --time'
        [logbook]='--config --witnessed --started --ended --root --since --all --json'
        [rehearse]='--config --wave --signal --threshold --svg --narrow --vcd --all --json
                 --expect --print-expect'
        [status]='--config --json --prometheus --output')
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        words="${!options[*]} --help --version"
    elif [ "$previous" = --root ]; then
        mapfile -t COMPREPLY < <(compgen -d -- "$current")
        return
    elif [[ $previous == --@(against|config|wave|save|svg|vcd|tree|overlay|kernel-config|output) ]]; then
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
    elif [[ $previous == --@(only|skip|explain) ]]; then
        words=$(nightlatch audit --rules | cut -d ' ' -f 1)
    elif [ "$previous" = --run ]; then
        mapfile -t COMPREPLY < <(compgen -c -- "$current")
        return
    elif [ "$previous" = --end-at ]; then
        words='rest waiting holding ready countdown leaving refused stuck fault'
    elif [ "$previous" = --bias ]; then
        words='pull-up pull-down none as-is'
    elif [ "$previous" = --pressed ]; then
        words='low high'
    elif [[ $current == -* || $command == @(audit|call-off|follow|status) ]]; then
        words="${options[$command]} --help"
    elif [[ $command == @(bounce|lines) ]]; then
        words=$(cd /dev && echo gpiochip[0-9]*)
    elif [[ $command == @(check|circuit|rehearse) ]]; then
        mapfile -t COMPREPLY < <(compgen -f -X '!*.toml' -- "$current"; compgen -d -- "$current")
        return
    elif [ "$command" = logbook ]; then
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
    fi
    mapfile -t COMPREPLY < <(compgen -W "$words" -- "$current")
}
complete -o filenames -F _nightlatch nightlatch
