"""The house rules that a machine can check: what may import what, and what may lie at the top level."""

from __future__ import annotations

import ast
import subprocess
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[1]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "fieldapp",
    "sync",
    "tests",
    "assets",
    "demo",
    "shared",
}
ROOMS = ("shared", "sync", "fieldapp")
MAY_USE = {
    "shared": {"shared"},
    "sync": {"shared", "sync"},
    "fieldapp": {"shared", "sync", "fieldapp", "assets"},
}
# What a pure module may import besides its own rooms. No clock, no randomness, no files, no sockets, no screen.
PURE_LIBRARY = {
    "__future__",
    "bisect",
    "collections",
    "collections.abc",
    "contextlib",
    "dataclasses",
    "datetime",
    "enum",
    "fractions",
    "functools",
    "itertools",
    "json",
    "math",
    "re",
    "sys.intern",
    "types",
    "typing",
}
PURE = {
    "shared/hearing": {"shared.errors", "shared.hearing"},
    "shared/records": {"shared.errors", "shared.hearing", "shared.records"},
}


def sources(folder: str) -> list[Path]:
    found = sorted((HOUSE / folder).rglob("*.py"))
    assert found
    return found


def imports_of(file: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: relative import"
            # Two words for one object touch nothing outside; the rest of ``sys`` does.
            interning = node.module == "sys" and [alias.name for alias in node.names] == ["intern"]
            names.add("sys.intern" if interning else node.module or "")
    return names


@pytest.mark.parametrize("room", ROOMS)
def test_imports_run_one_way(room):
    for file in sources(room):
        for name in imports_of(file):
            top = name.partition(".")[0]
            if top in (*ROOMS, "assets", "demo", "tests"):
                assert top in MAY_USE[room], f"{file.relative_to(HOUSE)} imports {name}"


@pytest.mark.parametrize("room", PURE)
def test_the_rules_and_the_records_are_pure(room):
    for file in sources(room):
        for name in imports_of(file):
            own = any(name == allowed or name.startswith(f"{allowed}.") for allowed in PURE[room])
            assert own or name in PURE_LIBRARY, f"{file.relative_to(HOUSE)} imports {name}"


@pytest.mark.parametrize("room", PURE)
def test_pure_code_asks_no_clock_and_opens_nothing(room):
    forbidden = {"now", "today", "utcnow", "open", "print", "input", "eval", "exec"}
    for file in sources(room):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                called = (
                    node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                )
                assert called not in forbidden, f"{file.relative_to(HOUSE)}:{node.lineno} calls {called}"


def test_services_and_the_command_know_no_kivy():
    """Presenters too: ``tests/screens/test_rules_of_the_screens`` looks at all that they bring along."""
    for file in [*sources("fieldapp/services"), *sources("fieldapp/cli"), *sources("sync")]:
        assert not any(name.split(".")[0] == "kivy" for name in imports_of(file)), file


def test_nothing_else_lies_at_the_top_level():
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=HOUSE, capture_output=True, text=True, check=False
    ).stdout
    tops = {line.partition("/")[0] for line in tracked.splitlines()}
    assert {top for top in tops if not top.startswith(".")} <= TOP_LEVEL


def test_every_source_file_says_what_may_live_in_it():
    for room in (*ROOMS, "assets", "demo"):
        for file in sources(room):
            text = file.read_text(encoding="utf-8")
            assert not text.strip() or ast.get_docstring(ast.parse(text)), file
