"""The lead's commands over what came back: ``gather``, ``doubts``, ``settle`` and ``close``. No rules here."""

from __future__ import annotations

import argparse
from contextlib import closing
from typing import Any

from fieldapp.cli.say import Progress, counted, counted_children, passphrase, say_json
from fieldapp.services.closing import Aside
from fieldapp.services.desk import Desk
from fieldapp.services.gathering import Gathering

Options = argparse.Namespace


def gather(options: Options) -> int:
    """Take returns into the visit book; exit status of the first refused return, if any was."""
    progress = Progress("gathering", len(options.returns))
    with closing(Desk.open(options.book, passphrase())) as desk:
        try:
            gathered = desk.gather(options.returns, progress)
        finally:
            progress.end()
        doubts = desk.doubts()
    if options.json:
        say_json(gathering_json(gathered, len(doubts)))
    else:
        print_gathering(gathered, len(doubts))
    refused = [each.problem.exit_status for each in gathered.returns if each.problem is not None]
    return refused[0] if refused else 0


def gathering_json(gathered: Gathering, doubts: int) -> dict[str, Any]:
    """A gathering, JSON-ready."""
    return {
        "returns": [
            {
                "file": each.file,
                "tablet": each.tablet,
                "new": each.new,
                "known": each.known,
                "entries": each.highest,
                "missing": list(each.missing),
                "problem": None if each.problem is None else str(each.problem),
            }
            for each in gathered.returns
        ],
        "listed": gathered.listed,
        "added": gathered.added,
        "joined": gathered.joined,
        "joined_automatically": len(gathered.joined_automatically),
        "children": gathered.children,
        "statuses": {status.value: count for status, count in gathered.statuses.items()},
        "doubts": doubts,
    }


def print_gathering(gathered: Gathering, doubts: int) -> None:
    """Print a gathering: what each return brought, and the sum."""
    for each in gathered.returns:
        if each.problem is not None:
            print(f"{each.file}: refused. {each.problem}")
            continue
        gaps = f"missing {_ranges(each.missing)}" if each.missing else "none missing"
        print(
            f"tablet {each.tablet}: entries 1 to {each.highest}, {gaps}; {each.new} new, {each.known} known already"
        )
    all_children = counted_children(gathered.children)
    print(f"{gathered.listed} listed + {gathered.added} added - {gathered.joined} joined = {all_children}")
    for status, count in gathered.statuses.items():
        if count:
            print(f"  {status.value:16}{count:6}")
    print(f"  {'sum':16}{sum(gathered.statuses.values()):6}")
    if gathered.joined_automatically:
        print(
            f"{len(gathered.joined_automatically)} joined automatically (to take one apart: doubts BOOK --joined):"
        )
        for first, second, reasons in gathered.joined_automatically:
            print(f"  {first} and {second}: {', '.join(reasons)}")
    waiting = counted(doubts, "doubt", "doubts")
    print(f"{waiting} to be decided by a person: quietbell doubts BOOK" if doubts else "no doubts")


def _ranges(counters: tuple[int, ...]) -> str:
    """Counters as ranges: 3, 7 to 9."""
    parts: list[list[int]] = []
    for counter in counters:
        if parts and counter == parts[-1][1] + 1:
            parts[-1][1] = counter
        else:
            parts.append([counter, counter])
    return ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in parts)


def doubts(options: Options) -> int:
    """List what only a person may decide, or what the evidence alone joined. Names are shown: the lead needs them."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        found = desk.joins() if options.joined else desk.doubts()
        shown = [
            {
                "id": doubt.id,
                "kind": doubt.kind.value,
                "question": doubt.question,
                "about": [desk.describe(subject) for subject in doubt.subjects],
                "reasons": list(doubt.reasons),
                "decisions": list(doubt.decisions),
            }
            for doubt in found
        ]
    if options.json:
        say_json(shown)
        return 0
    for each in shown:
        print(f"{each['id']}  {each['question']}")
        for line in (*each["about"], *each["reasons"]):
            print(f"    {line}")
        print(f"    decide: quietbell settle BOOK {each['id']} {'|'.join(each['decisions'])}")
    print(counted(len(shown), "join", "joins") if options.joined else counted(len(shown), "doubt", "doubts"))
    return 0


def settle(options: Options) -> int:
    """Decide a doubt, or take a decision back with the word ``undo``."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        if options.decision == "undo":
            desk.unsettle(options.doubt)
        else:
            desk.settle(options.doubt, options.decision)
        left = len(desk.doubts())
    done = "is open again" if options.decision == "undo" else f"is settled: {options.decision}"
    print(f"{options.doubt} {done}. Left: {counted(left, 'doubt', 'doubts')}.")
    return 0


def close(options: Options) -> int:
    """Close the visit, once nothing is in the way; children without a result are listed. Exit status 3: still open."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        ending = desk.closing
        for why in Aside:
            for name in getattr(options, why.value):
                ending.set_aside(name, why)
        for name in options.expect:
            ending.expect_again(name)
        if options.reopen:
            ending.reopen()
        left = ending.unfinished()
        if not left and not options.reopen and not ending.closed:
            ending.close()
        told = {
            "closed": ending.closed,
            "in_the_way": left,
            "tablets": {state.name: state.aside.value if state.aside else "" for state in ending.tablets()},
            "without_result": [
                {
                    "student_number": each.person.student_number,
                    "given": each.person.given,
                    "family": each.person.family,
                    "class": each.person.class_name,
                    "status": each.status.value,
                }
                for each in ending.without_result()
            ],
        }
    if options.json:
        say_json(told)
    else:
        _print_closing(told)
    return 0 if told["closed"] or options.reopen else 3


def _print_closing(told: dict[str, Any]) -> None:
    for name, why in told["tablets"].items():
        if why:
            print(f"tablet {name}: {'was not used' if why == 'unused' else 'is lost'}")
    print(f"Without a result: {counted_children(len(told['without_result']))}")
    for each in told["without_result"]:
        words = (each["class"] or "no class", each["student_number"] or "no number", each["status"])
        print(f"  {each['family']}, {each['given']}; {'; '.join(words)}")
    for sentence in told["in_the_way"]:
        print(sentence)
    print("The visit is closed." if told["closed"] else "The visit is open.")
