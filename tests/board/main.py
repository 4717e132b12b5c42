# SPDX-License-Identifier: MIT
"""The command line of scripts/board."""

import fcntl
import importlib
import pathlib

import bench as benches
import drawn
import scenario
import shell

SUITES = ("bookworm", "trixie")  # Debian 12 and 13


def _scenarios(folder):
    """The names of those in a folder beside this file."""
    for module in sorted(pathlib.Path(__file__).with_name(folder).glob("*.py")):
        importlib.import_module(f"{folder}.{module.stem}")
    return [name for name, (_, function) in scenario.SCENARIOS.items()
            if function.__module__.startswith(f"{folder}.")]


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


def _locked_bench(stock):
    """One run at a time: they share the directory that their machines' disks and consoles are in."""
    benches.cache().mkdir(parents=True, exist_ok=True)
    lock = (benches.cache() / "board.lock").open("w")
    fcntl.flock(lock, fcntl.LOCK_EX)
    return benches.Bench(stock), lock


def main(words, usage):
    match words:
        case ["--packages", suite, *words] if suite in SUITES:
            names, stock = _scenarios("packages"), lambda: benches.with_packages(suite)
        case ["--unit-tests", *words]:
            names, stock = _scenarios("units"), benches.with_unit_tests
        case ["--plugs", seed, first, last] if first.isdecimal() and last.isdecimal():
            names, stock = drawn.plugs(seed, int(first), int(last)), benches.with_service
            words = []
        case ["--flushes", boots] if boots.isdecimal() and int(boots) > 1:
            names, stock, words = drawn.flushes(int(boots)), benches.with_service, []
        case _:
            names, stock = _scenarios("scenarios"), benches.with_service
    match words:
        case ["list"]:
            for name in names:
                print(f"{name}: {scenario.SCENARIOS[name][0]}")
            return 0
        case ["shell"]:
            bench, _lock = _locked_bench(stock)
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
    bench, _lock = _locked_bench(stock)
    return _summary(scenario.play(bench, names))
