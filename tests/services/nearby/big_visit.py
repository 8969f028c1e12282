"""A large invented visit on disk, and the real command run on it. Shared by tests, the benchmark and the long runs.

Children have names, birth dates and student numbers that occur nowhere else, so that a capture can be searched.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

from fieldapp.platform.clock import ScriptClock
from fieldapp.services.desk import Desk
from fieldapp.services.presets import load_protocol
from fieldapp.services.station import Station
from shared.records.entries import Kind
from shared.records.standing import Person
from shared.vault import CHEAP
from tests.facts import PASSPHRASE

HOUSE = Path(__file__).resolve().parents[3]
_SYLLABLES = ("zor", "vek", "quil", "brax", "tumf", "jolp", "grint", "wex", "phlo", "yarg")


def person(number: int, class_name: str) -> Person:
    """The child of that number; every part of it is easy to find again in a stream of bytes."""
    digits = [int(digit) for digit in f"{number:05d}"]
    given = "".join(_SYLLABLES[digit] for digit in digits[2:]).capitalize()
    family = "Mc" + "".join(_SYLLABLES[digit] for digit in reversed(digits)).capitalize()
    born = date.fromordinal(date(2016, 1, 1).toordinal() + number % 1400).isoformat()
    return Person(given, family, born, f"QBN-{number:07d}", "3", class_name)


def lay_out(folder: Path, *, tablets: int, entries: int, children: int = 0) -> list[str]:
    """A book ``visit.book`` and stores ``T1.store`` ... with ``entries`` own entries each, a class each.

    ``children`` a tablet; 1 for every 80 entries unless given. Gives the tablets' names.
    """
    clock = ScriptClock(datetime(2026, 10, 14, 8, 0, tzinfo=UTC))
    each = children or max(1, entries // 80)
    names = [f"T{number}" for number in range(1, tablets + 1)]
    people = [person(place * each + n, name) for place, name in enumerate(names) for n in range(each)]
    desk = Desk.prepare(
        folder / "visit.book",
        PASSPHRASE,
        school="Quillmarsh School",
        people=people,
        protocol=load_protocol("aaa-2011"),
        dates=[date(2026, 10, 14)],
        clock=clock,
        cost=CHEAP,
    )
    with closing(desk):
        for name in names:
            handout = folder / f"{name}.handout"
            desk.hand_out(name, handout, PASSPHRASE, classes=[name], cost=CHEAP)
            station = Station.receive(handout, folder / f"{name}.store", PASSPHRASE, clock=clock, cost=CHEAP)
            with closing(station):
                station.sign_in("MK")
                write_up_to(station, entries)
    return names


def write_up_to(station: Station, highest: int) -> None:
    """Walks, child after child, until the device has written ``highest`` entries."""
    ledger, steps = station.ledger, station.protocol.steps()
    listed = [standing.child for standing in station.standings()]
    walk = 0
    while ledger.counter < highest:
        child = listed[walk % len(listed)]
        walk += 1
        begun = f"{ledger.counter + 1}@{ledger.device}"
        about = {"child": child, "screening": begun}
        drafts = [
            (Kind.SCREENING_BEGUN, {"child": child, "level_db_hl": 20, "purpose": "again", "grade": "3"})
        ]
        drafts += [
            (Kind.TONE_ANSWERED, {**about, "ear": ear, "hz": hz, "level_db_hl": 20, "heard": True})
            for ear, hz in steps
        ]
        drafts += [(Kind.SCREENING_FINISHED, about)]
        ledger.write(*drafts[: highest - ledger.counter])


def command(*words: object, prefix: Sequence[str] = (), cwd: Path, **more: object) -> subprocess.Popen[str]:
    """The ``quietbell`` command as a process of its own."""
    environment = {**os.environ, "QUIETBELL_PASSPHRASE": PASSPHRASE, "PYTHONPATH": str(HOUSE)}
    whole = [*prefix, sys.executable, "-m", "fieldapp", *map(str, words)]
    more = {
        **{"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "stdin": subprocess.DEVNULL},
        # Ctrl-C is heeded, though whoever started the tests in the background has them ignore it.
        **({} if os.name == "nt" else {"preexec_fn": lambda: signal.signal(signal.SIGINT, signal.SIG_DFL)}),
        **more,
    }
    return subprocess.Popen(whole, cwd=cwd, env=environment, text=True, **more)  # type: ignore[call-overload,no-any-return]


def listening(
    folder: Path, *words: object, prefix: Sequence[str] = (), address: str = "127.0.0.1", port: int = 0
) -> tuple[subprocess.Popen[str], str]:
    """A listening lead; gives the process and its address once it listens."""
    process = command(
        *("listen", "visit.book", "--json", "--address", address, "--port", port, *words),
        prefix=prefix,
        cwd=folder,
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    assert line, process.stderr.read() if process.stderr else ""
    return process, json.loads(line)["listening"][0]


def own_entries(folder: Path, name: str) -> dict[str, bytes]:
    """What the tablet itself wrote: id to canonical bytes."""
    with closing(Station.open(folder / f"{name}.store", PASSPHRASE)) as station:
        ledger = station.ledger
        return {e.id: e.canonical() for e in ledger.register.entries() if e.device == ledger.device}


def check_exactly_once(folder: Path, names: Sequence[str]) -> int:
    """Every entry of every tablet is in the book, once, as it was written; gives how many. Reads the vault itself."""
    wanted: dict[str, bytes] = {}
    for name in names:
        wanted |= own_entries(folder, name)
    with closing(Desk.open(folder / "visit.book", PASSPHRASE)) as desk:
        own = desk.ledger.device
        stored = [document["id"] for document in desk.ledger.vault.table("entries")]
        assert len(stored) == len(set(stored)), "an entry is stored twice"
        assert not desk.ledger.register.variants
        held = {e.id: e.canonical() for e in desk.ledger.register.entries() if e.device != own}
    assert held == wanted, (len(held), len(wanted))
    return len(held)
