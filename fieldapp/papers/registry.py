"""Every paper by name: ``PAPERS``. ``make_papers`` makes all or some of them into a folder; ``draw_paper`` draws one in
memory, to be looked at, and ``keep_paper`` writes that very paper."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fieldapp.papers import letters, lists, record, slips, station_log, summary
from fieldapp.papers.context import PaperContext, PaperMade
from fieldapp.platform.files import write_whole
from shared.collecting import no_collecting
from shared.errors import WrongUse
from shared.records.standing import Standing, Status

Make = Callable[[Path, Sequence[Standing], PaperContext], PaperMade]


@dataclass(frozen=True, slots=True)
class Paper:
    """One kind of paper. ``standard``: made when no names are asked for. ``table`` writes its rows as CSV.

    ``holds``: whether a child is on it; None for a paper that is not about single children.
    """

    title: str
    print: Make
    table: Callable[[Path, Sequence[Standing], PaperContext], Path] | None = None
    standard: bool = True
    holds: Callable[[Standing], bool] | None = None

    def draw(self, path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
        """Draw it in memory; nothing is written. Raises ``Refused``."""
        with no_collecting():
            return self.print(path, standings, context)

    def make(self, path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
        """Print it into a file, whole or not at all. Raises ``Refused`` or ``WriteRefused``."""
        return _written(self.draw(path, standings, context))


def _written(drawn: PaperMade) -> PaperMade:
    write_whole(drawn.path, drawn.pdf)
    return replace(drawn, pdf=b"")


def _list(chosen: lists.ChildList) -> Paper:
    def make(path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
        return lists.print_list(path, chosen, standings, context)

    def table(path: Path, standings: Sequence[Standing], context: PaperContext) -> Path:
        return lists.write_list(path, chosen, standings, context)

    return Paper(chosen.title("en"), make, table, holds=_stands_as(*chosen.statuses))


def _letters(title: str, kind: letters.Letter, *, standard: bool = True) -> Paper:
    def make(path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
        return letters.print_letters(path, kind, standings, context)

    return Paper(title, make, standard=standard, holds=_stands_as(*kind.statuses))


def _stands_as(*statuses: Status) -> Callable[[Standing], bool]:
    return lambda standing: standing.status in statuses


PAPERS: Mapping[str, Paper] = {
    "rescreen-list": _list(lists.RESCREEN),
    "not-yet-screened-list": _list(lists.NOT_YET_SCREENED),
    "absentee-list": _list(lists.ABSENT),
    "could-not-test-list": _list(lists.COULD_NOT_TEST),
    "medical-list": _list(lists.MEDICAL),
    "threshold-list": _list(lists.THRESHOLD),
    "exempt-list": _list(lists.EXEMPT),
    "referral-list": _list(lists.REFERRED),
    "class-slips": Paper("Class slips", slips.print_slips, holds=_stands_as(*slips.WANTED)),
    "letters-rescreen": _letters("Letters home: rescreen", letters.RESCREEN),
    "letters-could-not-test": _letters("Letters home: could not test", letters.COULD_NOT_TEST),
    "letters-referral": _letters("Letters home: referral", letters.REFERRAL),
    "letters-passed": _letters("Letters home: passed", letters.PASSED, standard=False),
    "examiner-letters": Paper(
        "Referral letters to the examiner", record.print_referrals, holds=_stands_as(Status.REFERRED)
    ),
    "child-records": Paper(
        "Children's records", record.print_records, standard=False, holds=_stands_as(*Status)
    ),
    "yearly-summary": Paper("Yearly summary by grade", summary.print_summary, summary.write_summary),
    "readiness-log": Paper("Equipment and readiness log", station_log.print_readiness_log),
    "station-watch": Paper("Station watch report", station_log.print_station_watch),
}


def chosen_papers(only: Iterable[str] = ()) -> list[str]:
    """The names to make: those asked for, else the standard ones; raises ``WrongUse`` for an unknown name."""
    names = list(dict.fromkeys(only))
    unknown = [name for name in names if name not in PAPERS]
    if unknown:
        raise WrongUse(
            f"There is no paper named {unknown[0]!r}.", todo=f"The papers are: {', '.join(PAPERS)}."
        )
    return names or [name for name, paper in PAPERS.items() if paper.standard]


def draw_paper(name: str, folder: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
    """One paper in memory only; ``folder`` is where ``keep_paper`` would write it. Raises ``WrongUse``, ``Refused``."""
    (name,) = chosen_papers([name])
    return PAPERS[name].draw(folder / f"{name}.pdf", standings, context)


def keep_paper(
    name: str, drawn: PaperMade, standings: Sequence[Standing], context: PaperContext
) -> PaperMade:
    """Write a paper that was drawn, a list as CSV too. Raises ``WriteRefused``."""
    made, table = _written(drawn), PAPERS[name].table
    if table:
        table(drawn.path.with_suffix(".csv"), standings, context)
    return made


def make_papers(
    folder: Path,
    standings: Sequence[Standing],
    context: PaperContext,
    only: Iterable[str] = (),
    *,
    made: Callable[[str, PaperMade], None] | None = None,
) -> dict[str, PaperMade]:
    """Make the chosen papers as ``NAME.pdf`` in a folder, the lists as ``NAME.csv`` too.

    ``made`` is told of each when it is written. Raises ``WrongUse``, ``Refused`` or ``WriteRefused``; papers
    written before that stay.
    """
    papers: dict[str, PaperMade] = {}
    for name in chosen_papers(only):
        drawn = draw_paper(name, folder, standings, context)
        papers[name] = keep_paper(name, drawn, standings, context)
        if made:
            made(name, papers[name])
    return papers


rescreen_list = PAPERS["rescreen-list"].make
not_yet_screened_list = PAPERS["not-yet-screened-list"].make
