# SPDX-License-Identifier: MIT
# zsh_test.zsh TREE NIGHTLATCH: types words and a tab in a zsh of its own, with the completions as they
# are installed, and compares what it is offered with the program's help and with bash's offers.
emulate -L zsh
setopt err_return no_unset
zmodload zsh/zpty

tree=$1 tool=$2
room=$(mktemp -d)
mkdir -p $room/share/zsh/vendor-completions $room/share/bash-completion/completions $room/desk/marks
cp $tree/daemon/tool/nightlatch.zsh $room/share/zsh/vendor-completions/_nightlatch
cp $tree/daemon/tool/nightlatch.bash $room/share/bash-completion/completions/nightlatch
: >$room/desk/marina.toml

fail() { rm -rf $room; print -u2 "zsh: $*"; exit 1 }

# Offers go through compadd: ours tells of those that fit the word before the cursor.
cat >$room/setup.zsh <<TEXT
PS1= PATH=${tool:h}:\$PATH fpath=($room/share/zsh/vendor-completions \$fpath)
cd $room/desk
autoload -Uz compinit
compinit -D -u
compadd() {
    local -a fit
    builtin compadd -O fit "\$@"
    print -r -- "<<\${(j: :)fit}>>"
    builtin compadd "\$@"
}
bindkey '^X' list-choices
print -r -- '<<ready>>'
TEXT
zpty shell "zsh -f -i"
zpty -w shell "source $room/setup.zsh"
zpty -r shell said "*<<ready>>*"

# Puts into REPLY what zsh offers after the words; the line is thrown away afterwards.
offered() {
    local said
    zpty -w -n shell "$*"$'\x18'
    zpty -r shell said "*<<*>>*"
    zpty -w -n shell $'\x15'
    REPLY=${${said##*<<}%%>>*}
}
offered_by_bash() {
    bash -c '. "$1" && shift; COMP_WORDS=("$@") COMP_CWORD=$(($# - 1)); _nightlatch
        printf "%s\n" "${COMPREPLY[@]}"' - $tree/daemon/tool/nightlatch.bash $@ | LC_ALL=C sort
}
same() {
    local -a one=(${(o)${=1}}) other=(${(o)${=2}})
    [[ $#one -gt 0 && "$one" == "$other" ]]
}
# check WORDS OFFER…: after the words zsh offers these and no other.
check() {
    offered $1
    same $REPLY "${*[2,-1]}" || fail "after $1: $REPLY; instead of: ${*[2,-1]}"
}

known=(${(f)"$($tool --help | sed -n 's/^  \([a-z][a-z-]*\) .*/\1/p')"})
(( $#known >= 9 )) || fail "the program's help lists $#known commands"
check 'nightlatch ' $known --help --version
for command in $known; do
    check "nightlatch $command --" $(offered_by_bash nightlatch $command --)
done
check 'nightlatch ci' circuit
check 'nightlatch lines --bias pu' pull-up pull-down
check 'nightlatch check mar' marina.toml marks
check 'nightlatch audit --root m' marks
! same "$REPLY" check && ! same "" "" || fail "a difference was not seen"
rm -rf $room
print "zsh offers what bash does, for $#known commands"
