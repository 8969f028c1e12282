"""From the visit book to paper: what a paper is told, which are made, and the entries that they leave."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from fieldapp.papers import Office as Letterhead
from fieldapp.papers import PaperContext, chosen_papers, make_papers
from fieldapp.services.desk import Desk
from shared.records.entries import Kind


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


def print_papers(
    desk: Desk,
    folder: Path,
    *,
    only: Iterable[str] = (),
    page_size: str = "letter",
    language: str = "en",
    progress: Callable[[int, str], None] | None = None,
) -> list[PaperPrinted]:
    """Make the papers named in ``only`` (the standard ones, where none is named) and write down each one issued.

    ``progress`` is told how many are made and which is in hand. Raises ``WrongUse`` for an unknown name.
    """
    names = chosen_papers(only)
    context = paper_context(desk, page_size=page_size, language=language)
    standings = desk.standings()
    people = {standing.child: standing.person for standing in standings}
    printed: list[PaperPrinted] = []
    for done, name in enumerate(names):
        if progress is not None:
            progress(done, name)
        made = make_papers(folder, standings, context, [name])[name]
        issued: dict[str, Any] = {"paper": name, "number": made.number, "children": list(made.children)}
        if len(set(made.numbers.values())) > 1:  # letters have a number each
            issued["numbers"] = dict(made.numbers)
        desk.ledger.write((Kind.PAPER_ISSUED, issued))
        unprintable = tuple(
            f"{people[each.child].family}, {people[each.child].given} ({each.letters})"
            for each in made.unprintable
        )
        printed.append(PaperPrinted(name, made.path, made.pages, unprintable))
    return printed
