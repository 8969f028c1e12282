"""How the command speaks: errors, JSON, progress on a terminal, and how it asks for a passphrase."""

from __future__ import annotations

import getpass
import json
import os
import sys
from typing import Any

from shared.errors import QuietbellError, WrongUse

VARIABLE = "QUIETBELL_PASSPHRASE"
NEW_VARIABLE = "QUIETBELL_NEW_PASSPHRASE"
TABLET_VARIABLE = "QUIETBELL_TABLET_PASSPHRASE"


def say_error(problem: QuietbellError, *, as_json: bool) -> None:
    """Print what happened, what was kept and what to do next on standard error."""
    if as_json:
        parts = {"happened": problem.happened, "kept": problem.kept, "todo": problem.todo}
        print(json.dumps({"error": parts}), file=sys.stderr)
        return
    print(f"quietbell: {problem.happened}", file=sys.stderr)
    for sentence in (problem.kept, problem.todo):
        if sentence:
            print(f"  {sentence}", file=sys.stderr)


def say_json(value: Any) -> None:
    """Print a value as JSON on standard output."""
    print(json.dumps(value, indent=2, ensure_ascii=False))


def counted(count: int, one: str, many: str) -> str:
    """A count with its noun: ``1 child``, ``2 children``."""
    return f"{count} {one if count == 1 else many}"


def counted_children(count: int) -> str:
    """``1 child``, ``2 children``."""
    return counted(count, "child", "children")


def passphrase(question: str = "Passphrase: ", *, new: bool = False) -> str:
    """The passphrase from the environment, else asked for (twice for a new one)."""
    return _secret(VARIABLE, question, new=new)


def tablet_passphrase() -> str:
    """The passphrase that will open a handout: its own variable, else the book's, else asked for."""
    if TABLET_VARIABLE not in os.environ and VARIABLE in os.environ:
        return os.environ[VARIABLE]
    return _secret(TABLET_VARIABLE, "Passphrase for this tablet: ", new=True)


def changed_passphrase() -> str:
    """The passphrase that is to replace another: its own variable, else asked for twice."""
    return _secret(NEW_VARIABLE, "New passphrase: ", new=True)


def _secret(variable: str, question: str, *, new: bool) -> str:
    if variable in os.environ:
        return os.environ[variable]
    if not sys.stdin.isatty():
        raise WrongUse("No passphrase was given.", todo=f"Set {variable}, or run this on a terminal.")
    given = getpass.getpass(question)
    if new and getpass.getpass("Once more: ") != given:
        raise WrongUse("The two passphrases differ.", todo="Try again.")
    return given


def warn(words: str) -> None:
    """Something to know before going on; nothing is refused."""
    print(f"Note: {words}", file=sys.stderr)


class Progress:
    """A line that counts on a terminal, and says nothing elsewhere."""

    def __init__(self, what: str, total: int | None = None) -> None:
        self._what = what
        self._total = total
        self._on = sys.stderr.isatty()

    def __call__(self, done: int, detail: str = "") -> None:
        """Show how far it is."""
        if self._on:
            of_total = f" of {self._total}" if self._total else ""
            sys.stderr.write(f"\r{self._what}: {done}{of_total} {detail[:40]}\x1b[K")
            sys.stderr.flush()

    def end(self) -> None:
        """Take the line away."""
        if self._on:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
