"""A screening protocol: one published rule set as data, checked field by field.

Only what a protocol says may live here (tones, levels, presentations, misses, stages, windows, who is due,
who is exempt) and its reading from and to plain data. What follows from it for one child is ``tone_walk``'s
and ``followup``'s. The presets are ``assets/protocols/*.toml``; a lead may copy and edit them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from shared.errors import Refused
from shared.hearing.fields import EARS, FREQUENCIES, Fields
from shared.hearing.protocol_parts import CopyOf, CouldNotTestRule, Exemption, LevelBand, plain_grade
from shared.hearing.referral import ReferralRule
from shared.hearing.threshold import BRACKETING, PROCEDURES

MARKS = ("read", "second-hand", "from memory", "set locally")
RESCREEN, THRESHOLD, REFER = "rescreen", "threshold", "refer"

#: The window that a lead's protocol starts with where the source names no later rescreen (set locally).
LOCAL_RESCREEN_DAYS = (14, 42)


class ProtocolError(Refused):
    """The protocol makes no sense; ``field`` names the field that is wrong."""

    def __init__(self, field: str, reason: str) -> None:
        self.field = field
        self.reason = reason
        super().__init__(
            f"The protocol is refused: field '{field}' {reason}.",
            kept="The protocol in use stays as it was.",
            todo=f"Correct '{field}' and try again.",
        )


@dataclass(frozen=True)
class Protocol:
    """One protocol. Frequencies in Hz, levels in dB HL, windows in days after the failing screening."""

    name: str
    title: str
    frequencies: tuple[int, ...]  # in the order of the first ear
    levels: tuple[LevelBand, ...]
    source: str = ""
    checked: str = ""  # ISO day on which the source was last looked at
    verified: bool = False  # whether a person has compared it with the rule in force
    marks: Mapping[str, str] = field(default_factory=dict)  # field -> one of MARKS
    cautions: tuple[str, ...] = ()
    copy_of: CopyOf | None = None  # a local copy says what it is a copy of
    second_ear: str = "back"
    presentations: int = 4
    misses_to_fail: int = 1
    retest_same_session: bool = True
    raised_level: int | None = None  # where the room is not quiet enough and the rule allows it
    drop_500_if_noisy: bool = False
    rescreen_days: tuple[int, int | None] = LOCAL_RESCREEN_DAYS
    rescreen_set_locally: bool = True
    after_first_fail: str = RESCREEN
    after_second_fail: str = REFER
    referral: ReferralRule | None = None
    threshold_frequencies: tuple[int, ...] = (1000, 2000, 4000, 500)
    threshold_procedure: str = "bracketing"  # or "extended-recheck", see ``threshold``
    threshold_limit: int = 100  # highest level that the screener may give
    grades_due: tuple[str, ...] = ()
    due_reasons: tuple[str, ...] = ()
    exemptions: tuple[Exemption, ...] = ()
    could_not_test: tuple[CouldNotTestRule, ...] = ()

    def __hash__(self) -> int:
        """Equal protocols hash alike, so that what follows from one may be remembered by it."""
        return hash((self.name, self.title, self.frequencies))

    def steps(self) -> tuple[tuple[str, int], ...]:
        """(ear, hz) in walk order, right ear first; the second ear back, or again from the first tone."""
        second = self.frequencies[::-1] if self.second_ear == "back" else self.frequencies
        first_ear, second_ear = EARS
        return (*((first_ear, hz) for hz in self.frequencies), *((second_ear, hz) for hz in second))

    def level(self, hz: int, *, grade: str = "", permitted: int = 20) -> int:
        """The level to give, dB HL: the rule's own, but never below what the readiness check permits."""
        return max(self._band(grade).by_hz[hz], permitted)

    def strictest_level(self, hz: int) -> int:
        """The lowest level that any grade is screened at, dB HL."""
        return min(band.by_hz[hz] for band in self.levels)

    def without(self, hz: int) -> Protocol:
        """The protocol with one frequency left out of the walk (a noisy 500 Hz)."""
        return replace(self, frequencies=tuple(each for each in self.frequencies if each != hz))

    def copied(self, name: str, **changes: Any) -> Protocol:
        """A copy under another name with some fields changed, each marked "set locally"; checked anew.

        ``changes`` use the names and forms of ``to_dict``. The copy says what it is a copy of (a copy of a copy:
        of the first), and counts as not verified unless the changes say otherwise. Raises ``ProtocolError``
        naming the field.
        """
        data = self.to_dict() | {"name": name, "verified": False} | changes
        local = {key: "set locally" for key in changes if key not in _UNMARKED}
        data["marks"] = {**self.marks, **local, **changes.get("marks", {})}
        first = self.copy_of or CopyOf(self.name, self.title)
        changed = tuple(key for key in data if key in local or key in first.changed)
        data |= {"copy_of": replace(first, changed=changed).to_dict(), "title": first.title_of(data["title"])}
        if "rescreen_days" in changes:
            data["rescreen_set_locally"] = True
        return Protocol.from_dict(data)

    def mark_of(self, name: str) -> str:
        """How far a field can be trusted: one of MARKS; a field without a mark was set locally."""
        return self.marks.get(name, "set locally")

    def _band(self, grade: str) -> LevelBand:
        wanted = plain_grade(grade)
        for band in self.levels:
            if wanted and wanted in band.grades:
                return band
        return next(band for band in self.levels if not band.grades)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Protocol:
        """A protocol out of plain data (a preset's TOML, a store's JSON).

        Raises ``ProtocolError`` naming the field: an unknown one, a missing one, a level off the 5 dB grid, a
        window that ends before it starts, a rule that could never be met.
        """
        return _read(Fields(data, ProtocolError))

    def to_dict(self) -> dict[str, Any]:
        """The protocol as JSON-ready data; ``from_dict`` gives it back equal."""
        return {
            "name": self.name,
            "title": self.title,
            "source": self.source,
            "checked": self.checked,
            "verified": self.verified,
            "marks": dict(self.marks),
            "cautions": list(self.cautions),
            "frequencies": list(self.frequencies),
            "second_ear": self.second_ear,
            "levels": [band.to_dict() for band in self.levels],
            "raised_level": self.raised_level,
            "drop_500_if_noisy": self.drop_500_if_noisy,
            "presentations": self.presentations,
            "misses_to_fail": self.misses_to_fail,
            "retest_same_session": self.retest_same_session,
            "rescreen_days": [days for days in self.rescreen_days if days is not None],
            "rescreen_set_locally": self.rescreen_set_locally,
            "after_first_fail": self.after_first_fail,
            "after_second_fail": self.after_second_fail,
            "referral": self.referral.to_dict() if self.referral else None,
            "threshold_frequencies": list(self.threshold_frequencies),
            "threshold_procedure": self.threshold_procedure,
            "threshold_limit": self.threshold_limit,
            "grades_due": list(self.grades_due),
            "due_reasons": list(self.due_reasons),
            "exemptions": [each.to_dict() for each in self.exemptions],
            "could_not_test": [each.to_dict() for each in self.could_not_test],
            **({"copy_of": self.copy_of.to_dict()} if self.copy_of else {}),
        }


# Fields that say what a protocol is called or where it comes from; a change of one is no change of the rule.
_UNMARKED = frozenset(
    {"name", "title", "source", "checked", "verified", "marks", "cautions", "copy_of", "rescreen_set_locally"}
)
_KNOWN = frozenset(Protocol.__dataclass_fields__)


def _read(fields: Fields) -> Protocol:
    fields.only(_KNOWN)
    frequencies = fields.frequencies("frequencies")
    if not frequencies:
        raise fields.refused("frequencies", "names no frequency")
    local_window = not fields.has("rescreen_days")
    protocol = Protocol(
        name=_name(fields),
        title=fields.text("title"),
        source=fields.text("source", ""),
        checked=_checked(fields),
        verified=fields.flag("verified", False),
        marks=_marks(fields),
        cautions=fields.texts("cautions"),
        copy_of=_copy_of(fields),
        frequencies=frequencies,
        second_ear=fields.choice("second_ear", ("back", "restart"), "back"),
        levels=_levels(fields, frequencies),
        raised_level=fields.maybe_level("raised_level"),
        drop_500_if_noisy=fields.flag("drop_500_if_noisy", False),
        presentations=fields.whole("presentations", 4, low=1, high=10),
        misses_to_fail=fields.whole("misses_to_fail", 1, low=1, high=2 * len(frequencies)),
        retest_same_session=fields.flag("retest_same_session", True),
        rescreen_days=_window(fields),
        rescreen_set_locally=fields.flag("rescreen_set_locally", local_window),
        after_first_fail=fields.choice("after_first_fail", (RESCREEN, THRESHOLD, REFER), RESCREEN),
        after_second_fail=fields.choice("after_second_fail", (THRESHOLD, REFER), REFER),
        referral=_referral(fields),
        threshold_frequencies=fields.frequencies("threshold_frequencies", (1000, 2000, 4000, 500)),
        threshold_procedure=fields.choice("threshold_procedure", tuple(PROCEDURES), BRACKETING.name),
        threshold_limit=fields.level("threshold_limit", 100),
        grades_due=tuple(plain_grade(grade) for grade in fields.texts("grades_due")),
        due_reasons=fields.texts("due_reasons"),
        exemptions=tuple(Exemption.read(each) for each in fields.tables("exemptions")),
        could_not_test=tuple(CouldNotTestRule.read(each) for each in fields.tables("could_not_test")),
    )
    return _agreeing(protocol, fields)


def _agreeing(protocol: Protocol, fields: Fields) -> Protocol:
    """Refuse fields that make sense alone but not together."""
    if protocol.referral is None and THRESHOLD in (protocol.after_first_fail, protocol.after_second_fail):
        raise fields.refused("referral", "is missing, so that a threshold test could lead to nothing")
    if protocol.raised_level is not None and protocol.raised_level <= min(
        protocol.strictest_level(hz) for hz in protocol.frequencies
    ):
        raise fields.refused("raised_level", "must be above the screening level")
    if protocol.drop_500_if_noisy and protocol.frequencies == (500,):
        raise fields.refused("drop_500_if_noisy", "would leave no frequency")
    if protocol.referral is not None:
        lines = (*protocol.referral.lines.values(), protocol.referral.single_line or 0)
        if max(lines) > protocol.threshold_limit:
            raise fields.refused("threshold_limit", "lies below a line of the referral rule")
        if not protocol.threshold_frequencies:
            raise fields.refused("threshold_frequencies", "names no frequency")
        if not set(protocol.referral.count_of) <= set(protocol.threshold_frequencies):
            raise fields.refused("threshold_frequencies", "leaves out a frequency of the referral rule")
    return protocol


def _name(fields: Fields) -> str:
    name = fields.text("name")
    if len(name) > 60 or not all(char.isascii() and (char.isalnum() or char in "-_.") for char in name):
        raise fields.refused("name", "must be short and made of letters, digits, '-', '_' and '.'")
    return name


def _checked(fields: Fields) -> str:
    day = fields.day("checked")
    return day.isoformat() if day else ""


def _marks(fields: Fields) -> dict[str, str]:
    marks = fields.raw("marks", {})
    if not isinstance(marks, Mapping) or not all(
        name in _KNOWN and mark in MARKS for name, mark in marks.items()
    ):
        raise fields.refused("marks", f"must give fields one of: {', '.join(MARKS)}")
    return dict(marks)


def _copy_of(fields: Fields) -> CopyOf | None:
    table = fields.table("copy_of")
    return CopyOf.read(table, _KNOWN - _UNMARKED) if table else None


def _levels(fields: Fields, frequencies: tuple[int, ...]) -> tuple[LevelBand, ...]:
    bands = tuple(LevelBand.read(each, frequencies) for each in fields.tables("levels"))
    if sum(not band.grades for band in bands) != 1:
        raise fields.refused("levels", "must have exactly one entry without grades, for all other grades")
    named = [grade for band in bands for grade in band.grades]
    if len(named) != len(set(named)):
        raise fields.refused("levels", "name a grade twice")
    return bands


def _window(fields: Fields) -> tuple[int, int | None]:
    days = fields.raw("rescreen_days", LOCAL_RESCREEN_DAYS)
    if (
        not isinstance(days, list | tuple)
        or len(days) not in (1, 2)
        or not all(isinstance(each, int) and not isinstance(each, bool) and 0 <= each <= 730 for each in days)
    ):
        raise fields.refused("rescreen_days", "must be the first and last day, 0 to 730 (or the first alone)")
    if len(days) == 2 and days[1] < days[0]:
        raise fields.refused("rescreen_days", "ends before it starts")
    return (days[0], days[1] if len(days) == 2 else None)


def _referral(fields: Fields) -> ReferralRule | None:
    table = fields.table("referral")
    return ReferralRule.read(table) if table else None


__all__ = [
    "FREQUENCIES",
    "LOCAL_RESCREEN_DAYS",
    "MARKS",
    "REFER",
    "RESCREEN",
    "THRESHOLD",
    "CopyOf",
    "CouldNotTestRule",
    "Exemption",
    "LevelBand",
    "Protocol",
    "ProtocolError",
    "plain_grade",
]
