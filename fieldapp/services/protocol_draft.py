"""A copy of a protocol while a lead changes it: every change is kept, sensible or not, and told field by field.

Only the holding and changing of a draft may live here. What makes sense is ``Protocol``'s to say, as for a file.
"""

from __future__ import annotations

from typing import Any

from fieldapp.services.own_protocols import OwnProtocols
from fieldapp.services.presets import origin
from shared.hearing.protocol import Protocol, ProtocolError

#: The words of a follow-up whose days were changed here: the source's own words name its own days.
TRY_AGAIN = "Try again within the time set here; if that fails too, refer."
#: Where a referral rule begins that is made here: the most cautious that is usual (common practice, no source).
FIRST_LINE = 30


class ProtocolDraft:
    """``first`` is what the copy is measured against (the preset), ``start`` what the change began with.

    ``name`` is the own copy that is changed, or empty for a new one. Values have the forms of
    ``Protocol.to_dict``.
    """

    def __init__(self, start: Protocol, *, title: str = "", name: str = "") -> None:
        self.first: Protocol = (origin(start) if start.copy_of else None) or start
        self.name = name
        self.title = title or start.title
        self._data: dict[str, Any] = start.to_dict()
        self._began = (self.title, start.to_dict())

    def __getitem__(self, field: str) -> Any:
        return self._data[field]

    @property
    def changes(self) -> dict[str, Any]:
        """What is not as in the protocol that it is a copy of."""
        theirs = self.first.to_dict()
        passed = {"name", "title", "marks", "copy_of", "verified", "rescreen_set_locally"}
        return {
            name: value for name, value in self._data.items() if name not in passed and value != theirs[name]
        }

    @property
    def touched(self) -> bool:
        """Whether anything was changed that is not kept yet; a new copy always has something to keep."""
        return not self.name or (self.title, self._data) != self._began

    def mark(self, field: str) -> str:
        """The mark that the field will carry; empty where nobody gave it one."""
        return "set locally" if field in self.changes else self.first.marks.get(field, "")

    def is_changed(self, field: str) -> bool:
        """Whether the field is another one than in the protocol that it is a copy of."""
        return field in self.changes

    def protocol(self, name: str = "") -> Protocol:
        """The draft as a protocol of that name; raises ``ProtocolError`` naming the field that makes no sense."""
        return self.first.copied(name or self.name or "draft", title=self.title, **self.changes)

    def refusal(self) -> ProtocolError | None:
        """Why it makes no sense, or None."""
        try:
            self.protocol()
        except ProtocolError as error:
            return error
        return None

    def save(self, own: OwnProtocols) -> Protocol:
        """Keep it; raises ``Refused``, and the draft stays as it is."""
        own.check_title(self.title, self.name)
        protocol = self.protocol(self.name or own.name_for(self.title))
        own.save(protocol)
        self.name = protocol.name
        self._began = (self.title, dict(self._data))
        return protocol

    # -- changes ---------------------------------------------------------------------------------

    def put(self, field: str, value: Any) -> None:
        """Another value for a field."""
        self._data[field] = value

    def as_first(self, field: str) -> None:
        """The value of the protocol that it is a copy of, and its mark with it."""
        self._data[field] = self.first.to_dict()[field]

    def move(self, field: str, hz: int, by: int) -> None:
        """A frequency earlier (-1) or later (+1) in an order."""
        order = list(self._data[field])
        at = order.index(hz)
        to = min(max(at + by, 0), len(order) - 1)
        order.insert(to, order.pop(at))
        self._data[field] = order

    def turn(self, field: str, value: Any, order: tuple[Any, ...] = ()) -> None:
        """Take something into a list, or out of it; ``order`` is how the list is sorted."""
        had = list(self._data[field])
        now = [each for each in had if each != value] if value in had else [*had, value]
        self._data[field] = sorted(now, key=order.index) if order and set(now) <= set(order) else now
        if field == "frequencies" and value in now:
            self._give_level(value)

    def set_level(self, band: int, hz: int, level: int) -> None:
        """A level of a band, dB HL."""
        bands = [{**each, "by_hz": dict(each["by_hz"])} for each in self._data["levels"]]
        bands[band]["by_hz"][str(hz)] = level
        self._data["levels"] = bands

    def add_band(self, grades: tuple[str, ...]) -> None:
        """Levels of their own for some grades; they begin as those of all other grades."""
        general = next(each for each in self._data["levels"] if not each["grades"])
        fresh = {"grades": list(grades), "by_hz": dict(general["by_hz"])}
        kept = [
            {**each, "grades": [grade for grade in each["grades"] if grade not in grades]}
            for each in self._data["levels"]
            if each["grades"]
        ]
        self._data["levels"] = [general, *(each for each in kept if each["grades"]), fresh]

    def drop_band(self, band: int) -> None:
        """The grades of a band are screened as all others."""
        self._data["levels"] = [each for at, each in enumerate(self._data["levels"]) if at != band]

    def set_in(self, field: str, at: int, key: str, value: Any) -> None:
        """A value of one table of a list of tables; 0 months are no end."""
        tables = [dict(each) for each in self._data[field]]
        tables[at][key] = (value or None) if key == "months" else value
        if field == "could_not_test":
            tables[at]["action"] = TRY_AGAIN
        self._data[field] = tables

    # -- the referral rule -----------------------------------------------------------------------

    def set_rule(self, on: bool) -> None:
        """A referral rule, or none; a new one begins cautiously: any one frequency on or beyond one line."""
        before = self.first.to_dict()["referral"]
        fresh = {"lines": {}, "count": 0, "count_of": [], "pairs": [], "single_line": FIRST_LINE}
        self._data["referral"] = (before or {**fresh, "tests": 1, "days_apart": 0}) if on else None

    def set_rule_part(self, key: str, value: Any) -> None:
        """A part of the referral rule; what it needs in other parts is put there."""
        rule = {**self._data["referral"], key: value}
        if key == "count" and value and not rule["count_of"]:
            rule["count_of"] = sorted(self._data["frequencies"])
        named = {*rule["count_of"], *(hz for pair in rule["pairs"] for hz in pair)}
        rule["lines"] = {**{str(hz): FIRST_LINE for hz in sorted(named)}, **rule["lines"]}
        self._data["referral"] = rule

    def set_line(self, hz: int, level: int) -> None:
        """The line of a frequency, dB HL, on or beyond which a threshold counts."""
        rule = self._data["referral"]
        self._data["referral"] = {**rule, "lines": {**rule["lines"], str(hz): level}}

    def turn_rule(self, key: str, value: Any) -> None:
        """Count a frequency or a pair of neighbours, or no longer."""
        had = list(self._data["referral"][key])
        self.set_rule_part(key, [e for e in had if e != value] if value in had else sorted([*had, value]))

    def _give_level(self, hz: int) -> None:
        """A frequency that is new begins at the highest level of its band, the level is set next."""
        bands = []
        for each in self._data["levels"]:
            by_hz = dict(each["by_hz"])
            by_hz.setdefault(str(hz), max(by_hz.values(), default=20))
            bands.append({**each, "by_hz": by_hz})
        self._data["levels"] = bands
