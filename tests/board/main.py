# SPDX-License-Identifier: MIT
"""The command line of scripts/board."""

import fcntl
import importlib
import pathlib

import bench as benches
import scenario
import shell

for module in sorted(pathlib.Path(__file__).with_name("scenarios").glob("*.py")):
    importlib.import_module(f"scenarios.{module.stem}")


def _summary(ended):
    passed, failed, inconclusive, unstable = (len(ended[outcome]) for outcome in scenario.Outcome)
    total = passed + failed + inconclusive + unstable
    print()
    for outcome, names in ended.items():
        if names and outcome is not scenario.Outcome.PASSED:
            print(f"{outcome.value}: {', '.join(names)}")
    if failed:
        print(f"The board did not do all it should: {failed} of {total} scenarios failed.")
    elif inconclusive or unstable:
        print(f"No scenario failed for good, but of {total} {inconclusive} could not be judged (this machine "
              f"was too busy to keep time), and {unstable} failed once and then passed twice.")
    else:
        print(f"The board did all it should: {total} of {total} scenarios passed.")
    print(f"{100 * passed // total}% scenarios passed, {failed} failed, {inconclusive} inconclusive, "
          f"{unstable} unstable out of {total}")
    return 1 if failed else 3 if inconclusive or unstable else 0


def _locked_bench():
    """One run at a time: they share the directory that their machines' disks and consoles are in."""
    benches.cache().mkdir(parents=True, exist_ok=True)
    lock = (benches.cache() / "board.lock").open("w")
    fcntl.flock(lock, fcntl.LOCK_EX)
    return benches.Bench(), lock


def main(words, usage):
    names = list(scenario.SCENARIOS)
    match words:
        case ["list"]:
            for name, (sentence, _) in scenario.SCENARIOS.items():
                print(f"{name}: {sentence}")
            return 0
        case ["shell"]:
            bench, _lock = _locked_bench()
            return shell.run(bench)
        case []:
            pass
        case ["run", *wanted] if wanted and set(wanted) <= set(names):
            names = wanted
        case ["run", *wanted] if wanted:
            print(f"no such scenario: {', '.join(sorted(set(wanted) - set(names)))}; there are: "
                  f"{', '.join(names)}")
            return 2
        case _:
            print(usage.strip())
            return 0 if words == ["--help"] else 2
    bench, _lock = _locked_bench()
    return _summary(scenario.play(bench, names))
