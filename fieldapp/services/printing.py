"""From the visit book to paper: what a paper is told, drawing it, keeping it, and the entries that they leave."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import count
from pathlib import Path
from typing import Any

from fieldapp.papers import Office as Letterhead
from fieldapp.papers import PaperContext, PaperMade, chosen_papers, draw_paper, keep_paper
from fieldapp.services.desk import Desk
from shared.errors import Refused
from shared.hearing.protocol import Protocol
from shared.records.entries import Kind
from shared.records.standing import Standing

EVERY = 10  # children between two reports of how far a paper is


@dataclass(frozen=True, slots=True)
class PaperPrinted:
    """One paper that was made. ``unprintable``: names that the bundled fonts cannot print, for the screen."""

    name: str
    path: Path
    pages: int
    unprintable: tuple[str, ...]


def paper_context(desk: Desk, *, page_size: str = "letter", language: str = "en") -> PaperContext:
    """What every paper of this visit says beside the children."""
    tablets = {device.device: device.name for device in desk.devices() if device.device}
    entries = desk.ledger.register.entries(Kind.READINESS_CHECKED, Kind.WATCH_RAISED)
    records = PaperContext.records_of(entries, tablets)
    return PaperContext(
        school=desk.school,
        protocol=desk.protocol,
        issued=desk.ledger.clock.now().date(),
        visit_dates=tuple(map(date.fromisoformat, desk.dates)),
        number=f"V-{desk.ledger.about['visit'][:5].upper()}",
        page_size=page_size,
        language=language,
        tablets=tablets,
        office=letterhead(desk),
        readiness=records["readiness"],
        watches=records["watches"],
    )


def letterhead(desk: Desk) -> Letterhead:
    """Who sends the letters, as the office has set it."""
    said = desk.ledger.about.get("letterhead", {})
    texts = {name: str(said.get(name, "")) for name in ("name", "phone", "signer", "role")}
    return Letterhead(address=tuple(map(str, said.get("address", ()))), **texts)


@dataclass(frozen=True, slots=True)
class PaperDrawn:
    """One paper in memory: it can be looked at, and kept. Nothing of it is written anywhere before that."""

    name: str
    made: PaperMade
    standings: Sequence[Standing]
    context: PaperContext

    @property
    def unprintable(self) -> tuple[str, ...]:
        """The names that the bundled fonts cannot print, with the letters they lack, for the screen."""
        people = {standing.child: standing.person for standing in self.standings}
        return tuple(
            f"{people[each.child].family}, {people[each.child].given} ({each.letters})"
            for each in self.made.unprintable
        )


def must_be_warned(protocol: Protocol, name: str) -> bool:
    """Whether whoever prints this has to know that no person has verified the protocol: a letter home says so only
    quietly."""
    return name.startswith("letters-") and not protocol.verified


def lacks_letterhead(desk: Desk, name: str) -> bool:
    """Whether this paper is a letter that would not say who sends it."""
    return name.startswith(("letters-", "examiner-")) and not letterhead(desk).name


def beside(path: Path) -> Path:
    """A free name beside a file that is there: ``NAME-2.pdf``, ``NAME-3.pdf`` ..."""
    numbered = (path.with_stem(f"{path.stem}-{number}") for number in count(2))
    return next(each for each in numbered if not each.exists())


def moved(drawn: PaperDrawn, path: Path) -> PaperDrawn:
    """The same paper, to be kept at another path."""
    return replace(drawn, made=replace(drawn.made, path=path))


def draw(
    desk: Desk,
    name: str,
    folder: Path,
    *,
    page_size: str = "letter",
    language: str = "en",
    progress: Callable[[int, int], None] | None = None,
) -> PaperDrawn:
    """Draw one paper in memory; ``folder`` is where ``keep`` would write it.

    ``progress`` is told (done, of all) children of a paper that has a page or more for each. Raises ``WrongUse`` for
    an unknown name, ``Refused`` for a letter's wording that cannot be used.
    """
    context = replace(paper_context(desk, page_size=page_size, language=language), progress=progress)
    return _drawn(name, folder, desk.standings(), context)


def _drawn(name: str, folder: Path, standings: Sequence[Standing], context: PaperContext) -> PaperDrawn:
    return PaperDrawn(name, draw_paper(name, folder, standings, context), standings, context)


def keep(desk: Desk, drawn: PaperDrawn) -> PaperPrinted:
    """Write a paper that was drawn, and write down that it was issued. Raises ``WriteRefused``."""
    made = keep_paper(drawn.name, drawn.made, drawn.standings, drawn.context)
    issued: dict[str, Any] = {"paper": drawn.name, "number": made.number, "children": list(made.children)}
    if len(set(made.numbers.values())) > 1:  # letters have a number each
        issued["numbers"] = dict(made.numbers)
    desk.ledger.write((Kind.PAPER_ISSUED, issued))
    return PaperPrinted(drawn.name, made.path, made.pages, drawn.unprintable)


def print_papers(
    desk: Desk,
    folder: Path,
    *,
    only: Iterable[str] = (),
    page_size: str = "letter",
    language: str = "en",
    overwrite: bool = False,
    progress: Callable[[int, str], None] | None = None,
) -> list[PaperPrinted]:
    """Make the papers named in ``only`` (the standard ones, where none is named) and write down each one issued.

    ``progress`` is told how many are made and which is in hand, and how far a long one is. Raises ``WrongUse`` for
    an unknown name, and ``Refused`` before anything is made where one is there already, without ``overwrite``.
    """
    there = [name for name in chosen_papers(only) if (folder / f"{name}.pdf").exists()]
    if there and not overwrite:
        raise Refused(
            f"In this folder there are papers of these names already: {', '.join(there)}.",
            kept="Nothing was overwritten.",
            todo="Choose another folder, or say that they are to be replaced.",
        )
    context = paper_context(desk, page_size=page_size, language=language)
    standings = desk.standings()
    printed: list[PaperPrinted] = []
    for done, name in enumerate(chosen_papers(only)):

        def child(drawn: int, of_all: int, done: int = done, name: str = name) -> None:
            if progress is not None and drawn % EVERY == 0:
                progress(done, f"{name}, {drawn} of {of_all}")

        if progress is not None:
            progress(done, name)
        printed.append(keep(desk, _drawn(name, folder, standings, replace(context, progress=child))))
    return printed
