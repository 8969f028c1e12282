"""The lead at the demo's visit book: tablets out, returns in, the doubts that a look into the class settles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from demo.commands import Quietbell


def settle_same_child(run: Quietbell, book: str, one_child: Mapping[str, str]) -> list[str]:
    """Decide every same-child doubt, as the lead does who asks in the class; gives what was decided, in words.

    ``one_child`` maps the added records that are a listed child to its student number.
    """
    decided = []
    numbers = set(one_child.values())
    for doubt in run.json("doubts", book):
        if doubt["kind"] != "same-child":
            continue
        first, second = doubt["about"][:2]
        added = "; added" in first + second
        one = added and any(number in first + second for number in numbers)
        run("settle", book, doubt["id"], "one" if one else "two")
        decided.append(f"{_who(first)} and {_who(second)}: {'one child' if one else 'two children'}")
    return decided


def open_doubts(run: Quietbell, book: str) -> list[str]:
    """The doubts that are open, in words."""
    return [f"{doubt['question']} {_who(doubt['about'][0])}" for doubt in run.json("doubts", book)]


def tablets_out(
    run: Quietbell,
    book: str,
    folder: str,
    tablets: Iterable[str],
    classes_of: Mapping[str, Iterable[str]],
    off: Mapping[str, Any],
) -> None:
    """A handout for each tablet, received on it. ``folder`` has ``carried`` and ``tablets`` in it."""
    place = "" if folder == "." else f"{folder}/"
    for name in tablets:
        classes = [word for each in classes_of.get(name, ()) for word in ("--class", each)]
        run("handout", book, "--tablet", name, "--out", f"{place}carried/{name}.handout", *classes)
        received = (
            "receive",
            f"{place}carried/{name}.handout",
            "--store",
            f"{place}tablets/{name}.store",
        )
        run(*received, **({"off": off[name]} if name in off else {}))


def set_letterhead(run: Quietbell, book: str) -> None:
    """Who sends the letters; all of it invented (numbers from 555-0100 on belong to nobody)."""
    run(
        *("letterhead", book, "--name", "Quillmarsh Valley school health office", "--phone", "555-0142"),
        *("--address", "4 Larkrise Lane", "--address", "Quillmarsh Valley"),
        *("--signer", "Maren Kestrel", "--role", "school audiometrist"),
    )


def _who(described: str) -> str:
    """The name out of a doubt's "family, given; born ...; class ...; number; origin; status"."""
    name, *facts = described.split("; ")
    return (
        f"{name} ({', '.join(fact for fact in facts if fact.startswith(('class', 'added')))})"
        if facts
        else name
    )
