"""Every trouble two devices may have with each other: the words for the person, and the code that goes over the wire.

A peer's own words are never shown: it says one of ten codes, and each side has its own sentences for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from enum import StrEnum

from shared.errors import Damaged, ForeignFile, NewerVersion, QuietbellError, Refused, WriteRefused

TABLET_KEPT = "Everything recorded on this tablet is kept; what the lead acknowledged is safe with the lead."
BY_FILE = "Try again, or give back by file."


class Code(StrEnum):
    """Why one side ends the talk."""

    NEWER = "newer"  # the other side's protocol, or what it sent, is newer than this side understands
    OLDER = "older"
    VISIT = "visit"  # another visit
    TABLET = "tablet"  # the book never made a handout for this tablet
    ALTERED = "altered"  # a batch that does not verify
    UNRULY = "unruly"  # out of turn, too large, unreadable
    SLOW = "slow"
    FULL = "full"  # the disk takes no more
    BUSY = "busy"  # too many at once, or the book is in use
    STOPPED = "stopped"  # the person ended it


_OF_LEAF = (
    (NewerVersion, Code.NEWER),
    (ForeignFile, Code.VISIT),
    (WriteRefused, Code.FULL),
    (Damaged, Code.ALTERED),
)


class Unruly(Damaged):
    """The other side broke the protocol."""


class Cut(Refused):
    """The connection is gone; sending again goes on where it stopped."""


class Stalled(Cut):
    """The other side has stopped answering."""


class Stopped(Refused):
    """A person ended it."""


class Told(Refused):
    """The other side refused; ``code`` says why."""

    def __init__(self, code: Code, happened: str, *, kept: str = "", todo: str = "") -> None:
        super().__init__(happened, kept=kept, todo=todo)
        self.code = code


class UnknownTablet(ForeignFile):
    """A true certificate of this visit, for a tablet that the book no longer or not yet knows."""


class Older(Refused):
    """The other side's Quietbell is too old."""


def code_of(problem: QuietbellError) -> Code:
    """The code that tells the other side of ``problem``."""
    own = (
        (Unruly, Code.UNRULY),
        (Stalled, Code.SLOW),
        (Stopped, Code.STOPPED),
        (UnknownTablet, Code.TABLET),
        (Cut, Code.STOPPED),
    )
    for leaf, code in (*own, (Older, Code.OLDER), *_OF_LEAF):
        if isinstance(problem, leaf):
            return code
    return Code.BUSY


def unruly(what: str) -> Unruly:
    """``what`` is a sentence about the protocol; it never repeats what the other side sent."""
    return Unruly(
        f"The other device does not keep to the rules of the talk: {what}.",
        kept="Nothing was taken from what broke the rules.",
        todo=BY_FILE,
    )


def but_all_is_there(problem: QuietbellError) -> QuietbellError:
    """The same problem, where it kept back only what other tablets did: whoever sends must know that."""
    problem.kept = (
        "The lead has all records of this tablet; only what other tablets did has not come back in full."
    )
    return problem


def cut() -> Cut:
    """The connection ended before the talk did."""
    return Cut(
        "The connection was cut before everything was across.",
        kept=TABLET_KEPT,
        todo="Send again: it goes on where it stopped.",
    )


def stalled() -> Stalled:
    """Nothing came, or too slowly, for too long."""
    return Stalled(
        "The other device has stopped answering.",
        kept=TABLET_KEPT,
        todo="Look whether it is awake and near, and send again: it goes on where it stopped.",
    )


def newer_peer() -> NewerVersion:
    """The peer speaks a newer protocol."""
    return NewerVersion(
        "The other device has a newer Quietbell than this one.",
        kept="Nothing was changed.",
        todo="Update Quietbell on this device, or give back by file.",
    )


def older_peer() -> Older:
    """The peer speaks a protocol that is no longer spoken here."""
    return Older(
        "The other device has an older Quietbell than this one can talk to.",
        kept="Nothing was changed.",
        todo="Update Quietbell on the other device, or give back by file.",
    )


def another_visit() -> ForeignFile:
    """The other side's certificate was not issued by this visit's authority."""
    return ForeignFile(
        "The device at this address does not belong to this visit.",
        kept="Nothing was sent to it and nothing was changed.",
        todo="Compare the check phrase on both screens, and the address.",
    )


def caller_of_another_visit() -> ForeignFile:
    """Seen by the lead: a caller without a certificate of this visit."""
    return ForeignFile(
        "A device that does not belong to this visit has called.",
        kept="It was sent away; the book was not changed.",
        todo="If it should belong, look whether its check phrase is the same as this one.",
    )


def not_quietbell() -> ForeignFile:
    """Something answers, but not in TLS 1.3 as we speak it."""
    return ForeignFile(
        "What answers at this address is not a listening Quietbell.",
        kept="Nothing was sent to it and nothing was changed.",
        todo="Look at the address on the lead's screen and type it again.",
    )


def out_of_date(whose: str, now: datetime) -> Refused:
    """``whose`` is "lead" or "tablet"; ``now`` is the clock that found it out of date."""
    return Refused(
        f"The {whose}'s certificate is out of date, or a clock is wrong: this device believes that today is "
        f"{now.date().isoformat()}.",
        kept="Nothing was changed.",
        todo="Set the clocks of both devices right. If they are right, make a new handout or give back by file.",
    )


def told_out_of_date() -> Told:
    """The lead says that this tablet's certificate is out of date."""
    return Told(
        Code.TABLET,
        "The lead finds this tablet's certificate out of date, or the lead's clock is wrong.",
        kept=TABLET_KEPT,
        todo="Look at the lead's clock. If it is right, give back by file.",
    )


def caller_finds_lead_out_of_date() -> Refused:
    """Seen by the lead: a caller has refused its certificate."""
    return Refused(
        "A tablet that called believes that the lead's certificate is out of date; its clock is probably wrong.",
        kept="It keeps everything; the book was not changed.",
        todo="Set the clock of that tablet right and send again, or give back by file.",
    )


def unknown_tablet() -> UnknownTablet:
    """The book has no handout for this tablet."""
    return UnknownTablet(
        "A tablet has called that this book never made a handout for.",
        kept="The book was not changed.",
        todo="Use the book that made the tablet's handout; an older copy of the book may not know it.",
    )


def nobody_there(address: str, detail: str) -> Cut:
    """No connection could be made."""
    return Cut(
        f"Nobody answers at {address} ({detail}).",
        kept=TABLET_KEPT,
        todo="Look whether the lead is listening, whether both are on the same network, and at the address.",
    )


def batch_altered() -> Damaged:
    """A batch that came over the network does not verify."""
    return Damaged(
        "What came over the network does not carry the right signature, or was altered.",
        kept="Nothing was taken from it.",
        todo=BY_FILE,
    )


@contextmanager
def reading_a_batch() -> Iterator[None]:
    """What the sealed file says of itself, said of a batch."""
    try:
        yield
    except (Damaged, ForeignFile):
        raise batch_altered() from None


def unforeseen(error: BaseException) -> Refused:
    """A fault of our own; its inner text may hold anything and is not repeated."""
    return Refused(
        f"Something unforeseen happened ({type(error).__name__}).",
        kept="What was acknowledged is kept.",
        todo=BY_FILE,
    )


def busy() -> Refused:
    """The book could not be reached in time."""
    return Refused("The visit book is in use.", kept="Nothing was lost.", todo="Send again in a moment.")


def stopped() -> Stopped:
    """Ended by the person on this side."""
    return Stopped("Stopped.", kept=TABLET_KEPT, todo="Send again when you are ready.")


def told(code: Code) -> QuietbellError:
    """What to say where the other side refused with ``code``."""
    words = {
        Code.NEWER: ("The other device has an older Quietbell than this one.", "Update Quietbell there."),
        Code.OLDER: (
            "The other device has a newer Quietbell than this one.",
            "Update Quietbell on this device.",
        ),
        Code.VISIT: (
            "The other device says that this belongs to another visit.",
            "Compare the check phrases.",
        ),
        Code.TABLET: (
            "The lead's book never made a handout for this tablet.",
            "Use the book that made it; an older copy of the book may not know this tablet.",
        ),
        Code.ALTERED: ("What arrived at the other device did not verify.", BY_FILE),
        Code.UNRULY: ("The other device could not follow this one.", BY_FILE),
        Code.SLOW: (
            "The other device has waited too long for this one.",
            "Bring the two closer; send again.",
        ),
        Code.FULL: ("The other device's disk takes no more.", "Make room there, then send again."),
        Code.BUSY: ("The other device is busy.", "Send again in a moment."),
        Code.STOPPED: ("The other device has stopped.", "Send again when it is ready."),
    }
    happened, todo = words[code]
    if code is Code.NEWER or code is Code.OLDER:
        return (
            NewerVersion(happened, kept=TABLET_KEPT, todo=todo)
            if code is Code.OLDER
            else Told(code, happened, kept=TABLET_KEPT, todo=todo)
        )
    if code is Code.VISIT or code is Code.TABLET:
        return ForeignFile(happened, kept=TABLET_KEPT, todo=todo)
    return Told(code, happened, kept=TABLET_KEPT, todo=todo)
