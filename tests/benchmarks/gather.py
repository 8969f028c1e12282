"""How long a visit book takes to gather the returns of ten tablets.

    python tests/benchmarks/gather.py [--entries 24000 240000 2400000] [--tablets 10] [--folder FOLDER]

Every child has an invented name (``demo/names.py``) and is walked on one tablet: begun, the tones, finished.
Each size runs in a fresh process, so that its memory is its own. The reference, in the same run and in another
process, decodes the same entries with the ``json`` of Python and sorts them by stamp: what gathering cannot do
without, and nothing that makes it safe. Afterwards the same returns are gathered again, which must add nothing, and
the book is opened anew. Prints the table of README.md. ``--profile`` prints where the time of the largest size goes.
"""

from __future__ import annotations

import argparse
import cProfile
import gc
import json
import os
import pstats
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta, timezone
from itertools import islice, pairwise
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

from demo.school import GRADES, newcomer
from fieldapp.platform.clock import ScriptClock
from fieldapp.services.desk import Desk
from fieldapp.services.presets import load_protocol
from fieldapp.services.station import Station
from shared.records.entries import Kind
from shared.records.standing import Person
from shared.vault import CHEAP, Vault

PASSPHRASE = "four unrelated paper words"
MORNING = datetime(2026, 10, 14, 8, 0, tzinfo=timezone(timedelta(hours=-5)))
TONES = [(ear, hz) for ear in ("right", "left") for hz in (1000, 2000, 4000)]
ENTRIES_A_CHILD = 1 + len(TONES) + 1  # begun, the tones, finished
MISSES = 0.02  # of all tones; the more cautious list is walked too
MOST_SECONDS, MOST_GROWTH = 10.0, 12.0
BYTES_AN_ENTRY = 6_000  # at the peak, with room to spare for preparing


def free_memory() -> int:
    """Bytes of memory that are free now."""
    return os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")


def people(count: int) -> list[Person]:
    """Invented children of a whole region, 26 to a class."""
    rng = Random("gathering")
    found = []
    for number in range(count):
        grade = GRADES[number // 26 % len(GRADES)]
        pupil = newcomer(rng, 10_000 + number, f"{grade}A", "Quillmarsh", latin_1_only=False)
        found.append(
            Person(
                given=pupil.given,
                family=pupil.family,
                born=pupil.born.isoformat(),
                student_number=pupil.number,
                grade=grade,
                class_name=f"{grade}-{number // 26 + 1}",
                language=pupil.language,
                guardian=pupil.guardian,
                address=pupil.address,
            )
        )
    return found


def walks(
    children: list[str], tablet: int, counter: int, device: str
) -> Iterator[tuple[Kind, dict[str, object]]]:
    """What one tablet writes for its children, one walk after the other."""
    rng = Random(f"tablet {tablet}")
    for child in children:
        screening = f"{counter + 1}@{device}"
        yield Kind.SCREENING_BEGUN, {"child": child, "level_db_hl": 20, "grade": "3"}
        for ear, hz in TONES:
            body = {"child": child, "screening": screening, "ear": ear, "hz": hz, "level_db_hl": 20}
            yield Kind.TONE_ANSWERED, {**body, "heard": rng.random() >= MISSES}
        yield Kind.SCREENING_FINISHED, {"child": child, "screening": screening}
        counter += ENTRIES_A_CHILD


def fill(desk: Desk, folder: Path, clock: ScriptClock, tablets: int) -> tuple[list[Path], Path]:
    """Every tablet's return, and all their entries as lines of plain JSON."""
    listed = [entry.id for entry in desk.ledger.register.entries(Kind.CHILD_LISTED)]
    share = -(-len(listed) // tablets)
    returns, plain = [], folder / "plain.jsonl"
    with plain.open("w", encoding="utf-8") as lines:
        for tablet in range(tablets):
            name = f"T{tablet + 1}"
            # Handed out before any return is gathered, and to one class only: receiving is not measured here.
            handout, store = folder / f"{name}.handout", folder / f"{name}.store"
            desk.hand_out(
                name, handout, PASSPHRASE, classes=[desk.standings()[0].person.class_name], cost=CHEAP
            )
            station = Station.receive(handout, store, PASSPHRASE, clock=clock, cost=CHEAP)
            mine = iter(
                walks(listed[tablet * share :][:share], tablet, station.ledger.counter, station.ledger.device)
            )
            minute = 0
            while part := list(islice(mine, ENTRIES_A_CHILD * 20)):  # a new time for every twenty children
                clock.set(MORNING + timedelta(minutes=minute))
                written = station.ledger.write(*part)
                lines.writelines(json.dumps(entry.to_document()) + "\n" for entry in written)
                minute += 20
            station.give_back(folder / f"{name}.return")
            station.close()
            returns.append(folder / f"{name}.return")
    return returns, plain


@contextmanager
def timed(into: dict[str, float], what: str) -> Iterator[None]:
    gc.collect()
    wall, processor = time.perf_counter(), time.process_time()
    yield
    into[what], into[f"{what} cpu"] = time.perf_counter() - wall, time.process_time() - processor


def prepare(folder: Path, entries: int, tablets: int) -> None:
    """The book and the returns, in a process of their own so that the measured one begins empty."""
    clock = ScriptClock(MORNING)
    desk = Desk.prepare(
        folder / "book",
        PASSPHRASE,
        school="Quillmarsh",
        people=people(entries // ENTRIES_A_CHILD),
        protocol=load_protocol("aaa-2011"),
        dates=[date(2026, 10, 14)],
        clock=clock,
        cost=CHEAP,
    )
    fill(desk, folder, clock, tablets)
    desk.close()


def measure_plainly(folder: Path) -> dict[str, float]:
    """The reference, in this process."""
    took: dict[str, float] = {}
    with timed(took, "json"):
        lines = (folder / "plain.jsonl").read_text(encoding="utf-8").splitlines()
        documents = sorted((json.loads(line) for line in lines), key=lambda document: document["stamp"])
    took["entries"] = len(documents)
    return took


def measure(folder: Path, entries: int, profile: bool) -> dict[str, float]:
    """Gathering in this process; ``folder`` was prepared by another, with so many ``entries`` of the tablets."""
    took: dict[str, float] = {}
    clock = ScriptClock(MORNING + timedelta(hours=8))
    took["size"] = sum(file.stat().st_size for file in folder.glob("*.return")) / 2**20

    returns = sorted(folder.glob("*.return"))
    desk = Desk.open(folder / "book", PASSPHRASE, clock=clock)
    before = len(desk.ledger.register)
    watch = cProfile.Profile()
    with timed(took, "gather"):
        if profile:
            watch.enable()
        first = desk.gather(returns)
        watch.disable()
    if profile:
        pstats.Stats(watch).sort_stats("tottime").print_stats(30)
        pstats.Stats(watch).sort_stats("cumtime").print_stats(45)
    took["taken"] = len(desk.ledger.register) - before
    assert took["taken"] >= entries
    with timed(took, "again"):
        second = desk.gather(returns)
    took["added again"] = len(desk.ledger.register) - before - took["taken"]
    assert [each.new for each in second.returns] == [0] * len(returns)
    assert not any(each.problem for each in first.returns)
    desk.close()
    with timed(took, "open"):
        desk = Desk.open(folder / "book", PASSPHRASE, clock=clock)
    with timed(took, "standings"):
        assert len(desk.standings()) == entries // ENTRIES_A_CHILD
    desk.close()
    took["memory"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    with timed(took, "vault"):
        Vault.open(folder / "book", passphrase=PASSPHRASE).close()
    return took


def in_a_process_of_its_own(*words: str) -> str:
    ran = subprocess.run(
        [sys.executable, __file__, *words], check=True, stdout=subprocess.PIPE, encoding="utf-8"
    )
    return ran.stdout


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--entries", type=int, nargs="+", default=[24_000, 240_000, 2_400_000])
    parser.add_argument("--tablets", type=int, default=10)
    parser.add_argument("--folder", type=Path, default=None, help="a folder on the medium to be measured")
    parser.add_argument("--profile", action="store_true", help="where the largest size's time goes")
    parser.add_argument("--prepare", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--plainly", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--measure", type=Path, help=argparse.SUPPRESS)
    said = parser.parse_args()
    if said.prepare:
        prepare(said.prepare, said.entries[0], said.tablets)
        return
    if said.plainly:
        print(json.dumps(measure_plainly(said.plainly)))
        return
    if said.measure:
        print(json.dumps(measure(said.measure, said.entries[0], said.profile)))
        return
    print(
        "| entries | returns MB | gather s (processor) | again s | plain json s | ratio | open s | fold s | peak MB |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    results = []
    for entries in sorted(said.entries):
        if entries * BYTES_AN_ENTRY > free_memory():
            print(
                f"| {entries:,} | not run: needs {entries * BYTES_AN_ENTRY / 2**30:.0f} GiB of free memory |"
            )
            continue
        with tempfile.TemporaryDirectory(dir=said.folder) as folder:
            words = ["--entries", str(entries), "--tablets", str(said.tablets)]
            in_a_process_of_its_own("--prepare", folder, *words)
            profile = ["--profile"] if said.profile and entries == max(said.entries) else []
            f = json.loads(in_a_process_of_its_own("--plainly", folder))
            *rest, last = in_a_process_of_its_own("--measure", folder, *words, *profile).splitlines()
            f |= json.loads(last)
        results.append(f)
        print(
            f"| {f['entries']:,.0f} | {f['size']:.2f} | {f['gather']:.1f} ({f['gather cpu']:.1f}) "
            f"| {f['again']:.1f} | {f['json']:.2f} | {f['gather'] / f['json']:.1f} | {f['open']:.1f} "
            f"| {f['standings']:.1f} | {f['memory']:.0f} |",
            flush=True,
        )
        if rest:
            print("\n".join(rest), file=sys.stderr)
    print()
    for f in results:
        told(f"{f['entries']:,.0f} entries: gathered again, entries added, at most 0", f["added again"], 0)
    for f in results:
        if f["entries"] == 240_000:
            told("240,000 entries in seconds, at most 10", f["gather"], MOST_SECONDS)
            told(
                "the same in processor seconds, to which other work on the machine adds little",
                f["gather cpu"],
                MOST_SECONDS,
            )
    for smaller, larger in pairwise(results):
        if larger["entries"] == 10 * smaller["entries"]:
            growth = larger["gather"] / smaller["gather"]
            told("ten times the entries, times the time, at most 12", growth, MOST_GROWTH)
            growth = larger["gather cpu"] / smaller["gather cpu"]
            told("ten times the entries, times the processor's time, at most 12", growth, MOST_GROWTH)


def told(what: str, value: float, most: float) -> None:
    print(f"- {what}: {value:.1f} ({'met' if value <= most else 'MISSED'})")


if __name__ == "__main__":
    main()
