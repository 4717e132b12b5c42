# SPDX-License-Identifier: MIT
"""Functions that a header declares and nobody defines."""

import re
from typing import Iterator, NamedTuple

from purity import code_only
from source import Finding, Tree, is_cpp

PARTS = ("lib/", "daemon/", "tests/")
QUALIFIERS = r"(?:\s|const\b|noexcept\b|override\b|final\b|&)*"
DECLARATION = re.compile(r"(?P<head>[^=()]*?)(?P<name>~?\b[A-Za-z_]\w*)\s*\(.*\)" + QUALIFIERS, re.S)
NO_DECLARATION = re.compile(r"\b(?:using|typedef|static_assert|operator|extern template|friend)\b")


class Declaration(NamedTuple):
    line: int
    scope: str  # the class that it is a member of; "" for a free function
    name: str


def bare(text: str) -> str:
    """Without comments, strings and directives; the lines stay."""
    return re.sub(r"^[ \t]*#[^\n]*", "", code_only(text), flags=re.M)


def without_templates(statement: str) -> str:
    before = None
    while statement != before:
        before, statement = statement, re.sub(r"<[^<>;]*>", " ", statement)
    return statement


def declared(statement: str) -> str | None:
    statement = without_templates(re.sub(r"\b(?:public|protected|private)\s*:", " ", statement))
    statement = re.sub(r"\[\[\w+\]\]", " ", statement).strip()
    if "(*" in statement or NO_DECLARATION.search(statement):
        return None
    match = DECLARATION.fullmatch(statement)
    return match["name"] if match else None


def scope_of(statement: str) -> str | None:
    """What a brace opens: a class by its name, "" for a namespace, None for a body."""
    statement = without_templates(statement)
    if re.search(r"\bnamespace\b", statement):
        return ""
    match = re.search(r"\b(?:class|struct|union)\s+(?:\[\[\w+\]\]\s*)?(\w+)[^()=]*$", statement)
    return match[1] if match and not re.search(r"\benum\b", statement) else None


def declarations(text: str) -> Iterator[Declaration]:
    """Of a bare text."""
    scopes, statement, line = [""], "", 1
    for c in text:
        line += c == "\n"
        if c == "{":
            scopes.append(scope_of(statement) if scopes[-1] is not None else None)
            statement = ""
        elif c == "}":
            scopes = scopes[:-1] or [""]
            statement = ""
        elif c == ";":
            if scopes[-1] is not None and (name := declared(statement)):
                yield Declaration(line, scopes[-1], name)
            statement = ""
        else:
            statement += c


def definitions(code: str) -> tuple[set[tuple[str, str]], set[str]]:
    """Members by class and name; free functions: what stands with arguments before a brace."""
    members = set(re.findall(r"\b(\w+)(?:<[^<>;]*>)?::(~?\w+)\s*\(", code))
    free = set()
    for statement in re.findall(r"([^;{}]*)\{", code):
        free.update(re.findall(r"(?<![\w.>])(\w+)\s*\(", statement))
    return members, free


def undefined_functions(tree: Tree) -> Iterator[Finding]:
    code = {path: bare(text) for path, text in tree.items()
            if is_cpp(path) and path.startswith(PARTS)}
    members, free = definitions("\n".join(code.values()))
    for path, text in code.items():
        for one in declarations(text) if path.endswith(".hpp") else ():
            if (one.scope, one.name) not in members if one.scope else one.name not in free:
                name = f"{one.scope}::{one.name}" if one.scope else one.name
                yield Finding(path, one.line, f"{name}() is declared and never defined")
