# SPDX-License-Identifier: MIT
"""Every JSON object of a file against a published schema, by python3-jsonschema [JSON Schema 2020-12].

usage: against_schema.py [--spoil] SCHEMA FILE

FILE has an object a line, or one that goes over all its lines. Ends with 0 when each is as the schema
has it; there must be one at least. With --spoil also when each object would be refused if one of its
members were gone, or were of another kind, and would be taken if it had members that are not known yet.
"""

import copy
import json
import sys

from jsonschema import Draft202012Validator


def objects(text: str) -> list:
    if text.startswith("{\n"):
        return [json.loads(text)]
    return [json.loads(line) for line in text.splitlines()]


def validator_of(path) -> Draft202012Validator:
    with open(path, encoding="utf-8") as file:
        schema = json.load(file)
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def problems(validator: Draft202012Validator, one) -> list[str]:
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(one)]


def places(value, path=()):
    """Each value within, with the way to it."""
    inside = value.items() if isinstance(value, dict) else enumerate(
        value) if isinstance(value, list) else ()
    for key, one in inside:
        yield path + (key,), one
        yield from places(one, path + (key,))


def changed(whole, path, change):
    """A copy in which `change(container, key)` was done to what is at the path."""
    new = copy.deepcopy(whole)
    at = new
    for key in path[:-1]:
        at = at[key]
    change(at, path[-1])
    return new


def take_away(container, key):
    del container[key]


def another_kind(container, key):
    container[key] = "spoiled" if isinstance(container[key], (dict, list)) else {"spoiled": 1}


def spoiled(whole, done):
    """What is done, and the document after it. `done`: by name and kind, what has been and need not be
    again: once is enough for all elements of a list that are alike."""
    for path, value in places(whole):
        alike = (".".join("*" if isinstance(key, int) else key for key in path), type(value))
        if alike in done:
            continue
        done.add(alike)
        name = ".".join(map(str, path))
        yield f"{name} of another kind", changed(whole, path, another_kind)
        if isinstance(path[-1], str):
            yield f"without {name}", changed(whole, path, take_away)


def grown(whole):
    """With a member more in each object."""
    if isinstance(whole, dict):
        return {**{key: grown(value) for key, value in whole.items()}, "of a later version": [1]}
    return [grown(one) for one in whole] if isinstance(whole, list) else whole


def too_lax_or_strict(validator: Draft202012Validator, whole, done=None) -> list[str]:
    done = set() if done is None else done
    wrong = [f"taken {what}" for what, one in spoiled(whole, done) if validator.is_valid(one)]
    return wrong + [f"refused with members more: {why}" for why in problems(validator, grown(whole))]


def described(schema, part=None, name=""):
    """The names of all members that a schema describes, "runs.*.end"."""
    part = schema if part is None else part
    if "$ref" in part:
        yield from described(schema, schema["$defs"][part["$ref"].removeprefix("#/$defs/")], name)
    for one in part.get("oneOf", ()):
        yield from described(schema, one, name)
    if "items" in part:
        yield from described(schema, part["items"], name + ".*")
    for member, one in part.get("properties", {}).items():
        here = f"{name}.{member}" if name else member
        yield here
        yield from described(schema, one, here)


def main() -> int:
    spoil = sys.argv[1] == "--spoil"
    schema, path = sys.argv[-2:]
    validator = validator_of(schema)
    with open(path, encoding="utf-8") as file:
        all_objects = objects(file.read())
    wrong = []
    for number, one in enumerate(all_objects, 1):
        found = problems(validator, one) or (too_lax_or_strict(validator, one) if spoil else [])
        wrong += [f"{number}: {why}" for why in found]
    print("\n".join(wrong) if all_objects else "no object")
    return 1 if wrong or not all_objects else 0


if __name__ == "__main__":
    sys.exit(main())
