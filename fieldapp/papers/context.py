"""What a paper is told beside the children: the visit, its protocol, the office, and what to print it on.

Only these values, and the value that a made paper returns, may live here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from shared.errors import Refused
from shared.hearing.protocol import Protocol
from shared.records.entries import Entry, Kind

PAGE_SIZES: dict[str, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}  # points


@dataclass(frozen=True, slots=True)
class Office:
    """Who sends the letters and takes the replies. Everything may be empty; a letter then leaves room to write."""

    name: str = ""
    address: tuple[str, ...] = ()  # lines
    phone: str = ""
    signer: str = ""  # printed under the signature line
    role: str = ""  # of the signer


@dataclass(frozen=True, slots=True)
class ReadinessRecord:
    """One readiness check of one station, as recorded. ``facts`` has the fields of a script's "ready" line."""

    at: str  # ISO time
    tablet: str
    screener: str
    facts: Mapping[str, Any]
    passed: bool | None = None  # None: not recorded
    level_db_hl: int | None = None
    reasons: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @classmethod
    def from_entry(cls, entry: Entry, tablet: str) -> ReadinessRecord:
        """The record of a ``READINESS_CHECKED`` entry written on the tablet of that name."""
        body = dict(entry.body)
        passed, level = body.pop("passed", None), body.pop("level_db_hl", None)
        reasons, warnings = body.pop("reasons", ()), body.pop("warnings", ())
        return cls(entry.at, tablet, entry.author, body, passed, level, tuple(reasons), tuple(warnings))


@dataclass(frozen=True, slots=True)
class WatchRecord:
    """One time that the station watch asked for a check."""

    at: str
    tablet: str
    ear: str
    hz: int | None
    what: str
    since: str = ""

    @classmethod
    def from_entry(cls, entry: Entry, tablet: str) -> WatchRecord:
        """The record of a ``WATCH_RAISED`` entry written on the tablet of that name."""
        body, hz = entry.body, entry.body.get("hz")
        words = (str(body.get(name) or "") for name in ("ear", "what", "since"))
        ear, what, since = words
        return cls(entry.at, tablet, ear, hz if isinstance(hz, int) else None, what, since)


@dataclass(frozen=True)
class PaperContext:
    """Everything a paper says that is not about one child.

    ``number`` is the visit's number: every document number starts with it. ``tablets`` gives device ids the
    names people know. ``letters_folder`` is where a school keeps its edited letter wordings; what is not in it
    comes from ``assets/letters``. ``progress`` is told (done, of all) letters during long work.
    """

    school: str
    protocol: Protocol
    issued: date
    visit_dates: tuple[date, ...] = ()
    number: str = ""
    page_size: str = "letter"
    language: str = "en"  # of the office's papers; letters home go by the child's home language
    office: Office = field(default_factory=Office)
    tablets: Mapping[str, str] = field(default_factory=dict)
    readiness: tuple[ReadinessRecord, ...] = ()
    watches: tuple[WatchRecord, ...] = ()
    letters_folder: Path | None = None
    progress: Callable[[int, int], None] | None = None

    @property
    def page(self) -> tuple[float, float]:
        """Width and height of a page in points; raises ``Refused`` for an unknown size."""
        if self.page_size not in PAGE_SIZES:
            raise Refused("There is no such page size.", todo=f"Choose one of: {', '.join(PAGE_SIZES)}.")
        return PAGE_SIZES[self.page_size]

    def tablet(self, device: str) -> str:
        """The name of a device as people know it."""
        return self.tablets.get(device, device)

    def document_number(self, code: str) -> str:
        """The number of a whole document of this visit, e.g. ``V-7-RESCREEN``."""
        return "-".join(part for part in (self.number or self.issued.isoformat(), code) if part)

    @classmethod
    def records_of(cls, entries: list[Entry], tablets: Mapping[str, str]) -> dict[str, tuple[Any, ...]]:
        """``readiness`` and ``watches`` out of a visit's entries, to be passed on as keyword arguments."""

        def name(entry: Entry) -> str:
            return tablets.get(entry.device, entry.device)

        ready = [e for e in entries if e.kind is Kind.READINESS_CHECKED]
        watch = [e for e in entries if e.kind is Kind.WATCH_RAISED]
        return {
            "readiness": tuple(ReadinessRecord.from_entry(entry, name(entry)) for entry in ready),
            "watches": tuple(WatchRecord.from_entry(entry, name(entry)) for entry in watch),
        }


@dataclass(frozen=True, slots=True)
class Unprintable:
    """A child with a text that the bundled fonts cannot print whole: it is listed, and completed by hand."""

    child: str  # record id
    student_number: str
    letters: str  # the letters without a font


@dataclass(frozen=True, slots=True)
class PaperMade:
    """A paper. ``numbers`` gives the document number issued about each child (record id).

    ``pdf`` holds it as long as it is in memory only; then ``path`` is where it would be written.
    """

    path: Path
    pages: int
    number: str
    numbers: Mapping[str, str] = field(default_factory=dict)
    unprintable: tuple[Unprintable, ...] = ()
    pdf: bytes = field(default=b"", repr=False)

    @property
    def children(self) -> tuple[str, ...]:
        """The record ids of all children in it."""
        return tuple(self.numbers)


__all__ = [
    "PAGE_SIZES",
    "Office",
    "PaperContext",
    "PaperMade",
    "ReadinessRecord",
    "Unprintable",
    "WatchRecord",
]
