"""Finds the sentences that errors and rules can say, by reading the code: each text that is a whole sentence.

A sentence is a text that begins with a capital letter or a value and ends with a full stop. Values in it are written
{1}, {2} ... as in ``assets/translations/sentences.es.toml``.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
#: Where sentences for a person at the screen come from. The command line speaks English only (``cli``, ``script``).
ROOMS = ("shared", "sync", "fieldapp/services", "fieldapp/roster", "fieldapp/platform", "fieldapp/papers")
SPOKEN_BY_THE_COMMAND = {"fieldapp/services/script.py"}


def sentences_in(source: str) -> Iterator[tuple[int, str]]:
    """(line, sentence) of every whole sentence in a module's texts, its docstrings left out."""
    tree = ast.parse(source)
    passed_over = {id(text) for text in _docstrings(tree)} | {id(part) for part in _parts(tree)}
    for node in ast.walk(tree):
        if id(node) in passed_over:
            continue
        for text in _texts(node):
            if re.fullmatch(r"[A-Z{][^\n]* [^\n]*\.", text) and not re.fullmatch(r"(\{\d\}\W*)+", text):
                yield node.lineno, text


def _docstrings(tree: ast.AST) -> Iterator[ast.AST]:
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        for each in body if isinstance(body, list) else ():
            if isinstance(each, ast.Expr) and isinstance(each.value, ast.Constant):
                yield each.value


def _parts(tree: ast.AST) -> Iterator[ast.AST]:
    """Texts within an f-string: the whole of it is the sentence."""
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            yield from (part for part in ast.walk(node) if part is not node)


def _texts(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.JoinedStr):
        values = iter(range(1, 10))
        yield "".join(
            part.value if isinstance(part, ast.Constant) else f"{{{next(values)}}}" for part in node.values
        )


def said_by_the_code() -> dict[str, str]:
    """Every sentence, and where it stands first."""
    found: dict[str, str] = {}
    for room in ROOMS:
        for file in sorted((ROOT / room).rglob("*.py")):
            place = file.relative_to(ROOT).as_posix()
            if place in SPOKEN_BY_THE_COMMAND:
                continue
            for line, text in sentences_in(file.read_text("utf-8")):
                found.setdefault(text, f"{place}:{line}")
    return found
