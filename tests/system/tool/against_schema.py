# SPDX-License-Identifier: MIT
"""Every JSON object of a file against a published schema, by python3-jsonschema [JSON Schema 2020-12].

usage: against_schema.py SCHEMA FILE

FILE has an object a line, or one that goes over all its lines. Ends with 0 when each is as the schema
has it; there must be one at least.
"""

import json
import sys

from jsonschema import Draft202012Validator


def objects(text: str) -> list:
    if text.startswith("{\n"):
        return [json.loads(text)]
    return [json.loads(line) for line in text.splitlines()]


def main() -> int:
    with open(sys.argv[1], encoding="utf-8") as file:
        schema = json.load(file)
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    with open(sys.argv[2], encoding="utf-8") as file:
        all_objects = objects(file.read())
    wrong = [f"{number}: {error.json_path}: {error.message}"
             for number, one in enumerate(all_objects, 1) for error in validator.iter_errors(one)]
    print("\n".join(wrong) if all_objects else "no object")
    return 1 if wrong or not all_objects else 0


if __name__ == "__main__":
    sys.exit(main())
