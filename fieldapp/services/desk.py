"""The desk: the lead's visit book, opened. What the lead's and the office's screens and the commands call.

Here is the whole of a book at a glance. What takes longer to say lives with those who do it: ``visit_book`` (made,
opened, handed out), ``gathering``, ``deciding``, ``closing``, ``office``, ``followup``. No Kivy here; papers and
exports are made from ``standings``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from pathlib import Path

from fieldapp.platform.clock import Clock, DeviceClock
from fieldapp.services import visit_book
from fieldapp.services.closing import Closing
from fieldapp.services.deciding import Deciding
from fieldapp.services.followup import FollowUp
from fieldapp.services.gathering import Gatherer, Gathering, ReturnGathered
from fieldapp.services.ledger import Ledger
from fieldapp.services.office import Office
from fieldapp.services.roll import children_of, status_counts
from fieldapp.services.visit_book import Tablet
from shared.hearing.protocol import Protocol
from shared.records.entries import Entry
from shared.records.standing import Person, Standing, Status
from shared.vault import Cost, Vault
from sync.devices import DeviceSeen
from sync.doubts import Doubt
from sync.matching import Pair
from sync.nearby.authority import Authority
from sync.returns import Return


class Desk:
    """One visit book, opened."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self.office = Office(ledger)
        self.followup = FollowUp(ledger)
        self.deciding = Deciding(ledger)
        self.gatherer = Gatherer(ledger, self.deciding)
        self.closing = Closing(ledger, self.deciding)

    # -- the book --------------------------------------------------------------------------------

    @classmethod
    def prepare(
        cls,
        book: Path,
        passphrase: str,
        *,
        school: str,
        people: Sequence[Person],
        protocol: Protocol,
        dates: Sequence[date],
        lead: str = "lead",
        clock: Clock | None = None,
        cost: Cost | None = None,
    ) -> Desk:
        """Make a visit book from a roster already read; raises ``Refused`` where it exists or is empty."""
        return cls(
            visit_book.make_book(
                book,
                passphrase,
                school=school,
                people=people,
                protocol=protocol,
                dates=dates,
                lead=lead,
                clock=clock or DeviceClock(),
                cost=cost,
            )
        )

    @classmethod
    def open(cls, book: Path, passphrase: str, *, clock: Clock | None = None) -> Desk:
        """Open a visit book; raises ``ForeignFile`` for a tablet store, and the vault's errors."""
        return cls(visit_book.open_book(book, passphrase, clock=clock or DeviceClock()))

    def sign_in(self, initials: str) -> None:
        """From now on everything is written down by these initials, until the book is closed."""
        self.ledger.author = initials.strip().upper()[:20] or self.ledger.author  # as on a tablet

    def close(self) -> None:
        """Close the book."""
        self.ledger.close()

    # -- what the book knows ---------------------------------------------------------------------

    @property
    def school(self) -> str:
        """The school's name."""
        return str(self.ledger.register.visit["school"])

    @property
    def dates(self) -> tuple[str, ...]:
        """The days of the visit, as ISO dates."""
        return tuple(map(str, self.ledger.register.visit["dates"]))

    @property
    def protocol(self) -> Protocol:
        """The protocol of the visit."""
        return self.ledger.register.protocol

    def standings(self) -> list[Standing]:
        """Every child once; leavers of the roster only where they were seen."""
        return children_of(self.ledger.register)

    def counts(self) -> dict[Status, int]:
        """How many children have each status."""
        return status_counts(self.standings())

    @property
    def tablets(self) -> list[Tablet]:
        """The tablets that handouts were made for."""
        return visit_book.tablets_of(self.ledger)

    def devices(self) -> list[DeviceSeen]:
        """Every tablet that has given back, and every handout that nothing has come back from."""
        return visit_book.devices_of(self.ledger)

    @property
    def authority(self) -> Authority:
        """The visit's own authority, under which its devices talk over the local network."""
        return visit_book.authority_of(self.ledger)

    def records_of_classes(self, classes: Sequence[str]) -> set[str]:
        """The records of every child in those classes; see ``visit_book.records_of_classes``."""
        return visit_book.records_of_classes(self.ledger, classes)

    # -- handing out and gathering ---------------------------------------------------------------

    def hand_out(
        self,
        name: str,
        file: Path,
        passphrase: str,
        *,
        classes: Sequence[str] = (),
        cost: Cost | None = None,
    ) -> int:
        """Write the handout for the tablet ``name``; gives how many children it holds."""
        return visit_book.hand_out(self.ledger, name, file, passphrase, classes=classes, cost=cost)

    def gather(self, files: Iterable[Path], progress: Callable[[int, str], None] | None = None) -> Gathering:
        """Take returns in, in any order and as often as wanted; see ``Gatherer.gather``."""
        return self.gatherer.gather(files, progress)

    def take_in(self, returned: Return) -> list[Entry]:
        """Take an opened return in; durable when this returns. Gives the entries that were new."""
        return self.gatherer.take_in(returned)

    def was_gathered(self, file: Path) -> bool:
        """Whether just this file was gathered before; one that cannot be read was not."""
        return self.gatherer.was_gathered(file)

    def receipt(self, device: str) -> str:
        """The code to type on a tablet whose entries have all been gathered, so that it may be wiped."""
        return self.gatherer.receipt(device)

    def summary(self, returns: Sequence[ReturnGathered] = ()) -> Gathering:
        """What the book holds, in numbers that add up."""
        return self.gatherer.summary(returns)

    # -- same child, doubts ----------------------------------------------------------------------

    def pairs(self) -> list[Pair]:
        """The matcher's pairs of records that may be one child."""
        return self.deciding.pairs()

    def join_automatically(self) -> int:
        """Write down the automatic joins that the evidence now gives; see ``Deciding.join_automatically``."""
        return self.deciding.join_automatically()

    def doubts(self) -> list[Doubt]:
        """Every open doubt."""
        return self.deciding.doubts()

    def joins(self) -> list[Doubt]:
        """Every join that stands by the evidence alone, as the question that a person may yet decide."""
        return self.deciding.joins()

    def describe(self, subject: str) -> str:
        """A doubt's subject in words for the lead: who the record is, or which tablet."""
        return self.deciding.describe(subject)

    def settle(self, doubt_id: str, decision: str) -> Doubt:
        """Decide a doubt; raises ``Refused`` where there is none of that id or it takes no such decision."""
        return self.deciding.settle(doubt_id, decision)

    def unsettle(self, doubt_id: str) -> None:
        """Take the newest decision on a doubt back: the doubt is open again."""
        self.deciding.unsettle(doubt_id)

    # -- a tablet whose passphrase was forgotten -------------------------------------------------

    def reopen_tablet(self, store: Path, new: str) -> None:
        """Give a tablet store whose passphrase was forgotten a new one, by the key that only this book has."""
        with Vault.open(store, lead_private_key=visit_book.sealing_of(self.ledger)) as vault:
            vault.change_passphrase(None, new)
            vault.compact()
