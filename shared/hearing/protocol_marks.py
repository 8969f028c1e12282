"""Which fields of a protocol its rule makes use of, and how far each of them can be trusted.

Only the order of the fields and the sorting by mark may live here; what a mark is, is ``protocol``'s.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from shared.hearing.protocol import MARKS, THRESHOLD, Protocol

#: The fields of the rule, in the order of a child's way through it.
FIELDS = (
    "frequencies",
    "second_ear",
    "levels",
    "raised_level",
    "drop_500_if_noisy",
    "presentations",
    "misses_to_fail",
    "retest_same_session",
    "rescreen_days",
    "after_first_fail",
    "after_second_fail",
    "referral",
    "threshold_frequencies",
    "threshold_procedure",
    "threshold_limit",
    "grades_due",
    "due_reasons",
    "exemptions",
    "could_not_test",
)
_THRESHOLD_FIELDS = frozenset(name for name in FIELDS if name.startswith("threshold") or name == "referral")


def in_use(data: Mapping[str, Any]) -> tuple[str, ...]:
    """The fields that a rule in the forms of ``Protocol.to_dict`` makes use of, sensible or not."""
    threshold = THRESHOLD in (data["after_first_fail"], data["after_second_fail"]) or data["referral"]
    may_be_empty = ("raised_level", "drop_500_if_noisy", "due_reasons", "exemptions", "could_not_test")
    unused = {name for name in may_be_empty if data[name] is None or not data[name]}
    return tuple(
        name for name in FIELDS if name not in unused and (threshold or name not in _THRESHOLD_FIELDS)
    )


def by_mark(protocol: Protocol) -> dict[str, tuple[str, ...]]:
    """The fields in use under their mark, the most trusted mark first; a mark that no field has is left out."""
    used = in_use(protocol.to_dict())
    found = {mark: tuple(name for name in used if protocol.marks.get(name) == mark) for mark in MARKS}
    return {mark: names for mark, names in found.items() if names}
