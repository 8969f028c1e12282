"""What there is to press for each field of a copy: steppers, choices, orders. No Kivy.

Nothing is judged here: a value that makes no sense can be reached, and the protocol's own check says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Any

from fieldapp.screens import protocol_words
from fieldapp.screens.translation import Translator
from fieldapp.services.protocol_draft import ProtocolDraft
from shared.hearing.due import DUE_REASONS
from shared.hearing.fields import FREQUENCIES
from shared.hearing.protocol import REFER, RESCREEN, THRESHOLD
from shared.hearing.threshold import PROCEDURES

GRADES = ("PK", "K", *(str(grade) for grade in range(1, 13)))
LEVEL_STEP = 5  # dB
LEVELS, LINES = (0, 60), (-10, 120)  # dB HL: of a screening, of a threshold
#: Reasons that are worked out, not set.
COUNTED = ("grade", "exemption-over")
EXEMPT = {
    "declined": "Declined by the guardian.",
    "under-care": "Under care for hearing already.",
}


@dataclass(frozen=True, slots=True)
class Key:
    """Something to press; ``off``: not now."""

    text: str
    act: Callable[[], Any]
    chosen: bool = False
    off: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A label with its value and small keys beside it; ``several``: keys to choose from, below the label."""

    label: str = ""
    value: str = ""
    keys: tuple[Key, ...] = ()
    several: bool = False


class Controls:
    """``lines(field)`` for the draft as it is now."""

    def __init__(self, t: Translator, draft: ProtocolDraft) -> None:
        self.t, self.draft = t, draft

    def lines(self, field: str) -> list[Line]:
        """What can be done to a field."""
        made: Callable[[], Iterable[Line]] = getattr(self, f"_{field}")
        return list(made())

    # -- the kinds of control --------------------------------------------------------------------

    def _step(
        self,
        label: str,
        value: int,
        put: Callable[[int], Any],
        *,
        by: Iterable[int] = (1,),
        low: int,
        high: int,
        unit: str = "",
    ) -> Line:
        steps = sorted({*by, *(-each for each in by)})
        keys = tuple(
            Key(
                ("–" if step < 0 else "+") + (f"{abs(step)}" if abs(step) > 1 and len(steps) > 2 else ""),
                partial(put, min(high, max(low, value + step))),
                off=not (low < value or step > 0) or not (value < high or step < 0),
            )
            for step in steps
        )
        return Line(label, f"{value}{unit}", keys)

    def _level_step(self, label: str, value: int, put: Callable[[int], Any], edges: tuple[int, int]) -> Line:
        return self._step(label, value, put, by=(LEVEL_STEP,), low=edges[0], high=edges[1], unit=" dB HL")

    def _choice(self, field: str, words: dict[Any, str], label: str = "") -> Line:
        return Line(
            label,
            keys=tuple(
                Key(text, partial(self.draft.put, field, value), self.draft[field] == value)
                for value, text in words.items()
            ),
            several=True,
        )

    def _yes_no(self, field: str) -> list[Line]:
        return [self._choice(field, {True: self.t("protocol.yes"), False: self.t("protocol.no")})]

    def _toggles(self, field: str, words: dict[Any, str], label: str = "") -> Line:
        order, had = tuple(words), self.draft[field]
        return Line(
            label,
            keys=tuple(
                Key(
                    f"✓ {text}" if value in had else text,
                    partial(self.draft.turn, field, value, order),
                    value in had,
                )
                for value, text in words.items()
            ),
            several=True,
        )

    def _order(self, field: str) -> list[Line]:
        t, draft, had = self.t, self.draft, list(self.draft[field])
        lines = [
            Line(
                f"{at + 1}.  {hz} Hz",
                keys=(
                    Key("↑", partial(draft.move, field, hz, -1), off=at == 0),
                    Key("↓", partial(draft.move, field, hz, 1), off=at == len(had) - 1),
                    Key("×", partial(draft.turn, field, hz)),
                ),
            )
            for at, hz in enumerate(had)
        ]
        rest = tuple(Key(f"+ {hz}", partial(draft.turn, field, hz)) for hz in FREQUENCIES if hz not in had)
        return [*lines, Line(t("protocol.add"), keys=rest, several=True)]

    # -- field by field --------------------------------------------------------------------------

    def _frequencies(self) -> list[Line]:
        t = self.t
        return [
            *self._order("frequencies"),
            Line(t("protocol.note_order")),
            Line(t("protocol.note_level_new")),
        ]

    def _threshold_frequencies(self) -> list[Line]:
        return self._order("threshold_frequencies")

    def _second_ear(self) -> list[Line]:
        words = {way: self.t(f"protocol.second_{way}_key") for way in ("back", "restart")}
        return [self._choice("second_ear", words)]

    def _levels(self) -> Iterable[Line]:
        t, draft = self.t, self.draft
        bands = draft["levels"]
        for at, band in enumerate(bands):
            yield Line(protocol_words.band_name(t, band, len(bands) == 1))
            for hz in sorted(draft["frequencies"]):
                yield self._level_step(
                    f"{hz} Hz",
                    band["by_hz"].get(str(hz), 20),
                    partial(draft.set_level, at, hz),
                    LEVELS,
                )
            if band["grades"]:
                drop = Key(t("protocol.band_drop"), partial(draft.drop_band, at))
                yield Line(keys=(drop,), several=True)

    def _raised_level(self) -> Iterable[Line]:
        t, draft, level = self.t, self.draft, self.draft["raised_level"]
        start = draft.first.raised_level or max(map(int, draft["levels"][0]["by_hz"].values())) + LEVEL_STEP
        yield Line(
            keys=(
                Key(t("protocol.noisy_none"), lambda: draft.put("raised_level", None), level is None),
                Key(
                    t("protocol.noisy_some"),
                    lambda: draft.put("raised_level", start if level is None else level),
                    level is not None,
                ),
            ),
            several=True,
        )
        if level is not None:
            yield self._level_step("", level, partial(draft.put, "raised_level"), LEVELS)

    def _drop_500_if_noisy(self) -> list[Line]:
        return self._yes_no("drop_500_if_noisy")

    def _retest_same_session(self) -> list[Line]:
        return self._yes_no("retest_same_session")

    def _presentations(self) -> list[Line]:
        return [self._plain("presentations", self.t("protocol.times"), 1, 10)]

    def _misses_to_fail(self) -> list[Line]:
        return [self._plain("misses_to_fail", self.t("protocol.misses"), 1, 2 * len(FREQUENCIES))]

    def _plain(self, field: str, label: str, low: int, high: int) -> Line:
        draft = self.draft
        return self._step(label, draft[field], partial(draft.put, field), low=low, high=high)

    def _rescreen_days(self) -> Iterable[Line]:
        t, draft = self.t, self.draft
        days = list(draft["rescreen_days"])
        last = days[1:]

        def put(days: list[int]) -> None:
            draft.put("rescreen_days", days)

        yield self._step(
            t("protocol.first_day"), days[0], lambda to: put([to, *last]), by=(1, 7), low=0, high=730
        )
        for day in last:
            yield self._step(
                t("protocol.last_day"), day, lambda to: put([days[0], to]), by=(1, 7), low=0, high=730
            )
        back = (
            draft.first.rescreen_days[1] or days[0] + 28
        )  # four weeks: where the source's window has no end
        turn = Key(
            t("protocol.open_end"), lambda: put(days[:1] if last else [days[0], back]), chosen=not last
        )
        yield Line(keys=(turn,), several=True)
        yield Line(t("protocol.note_days"))

    def _after_first_fail(self) -> list[Line]:
        ways = (RESCREEN, THRESHOLD, REFER)
        return [self._choice("after_first_fail", {way: self.t(f"protocol.then_{way}") for way in ways})]

    def _after_second_fail(self) -> list[Line]:
        ways = (THRESHOLD, REFER)
        return [self._choice("after_second_fail", {way: self.t(f"protocol.then_{way}") for way in ways})]

    def _referral(self) -> Iterable[Line]:
        t, draft, rule = self.t, self.draft, self.draft["referral"]
        yield Line(
            keys=(
                Key(
                    t("protocol.on"), lambda: draft.set_rule(True) if rule is None else None, rule is not None
                ),
                Key(t("protocol.off"), lambda: draft.set_rule(False), rule is None),
            ),
            several=True,
        )
        if rule is None:
            yield Line(t("protocol.note_rule_none"))
            return
        tones = sorted({*draft["threshold_frequencies"], *rule["count_of"]})
        pairs = [[low, high] for low, high in pairwise(tones)]
        pairs += [pair for pair in rule["pairs"] if pair not in pairs]
        yield self._part("count", t("protocol.rule_count_line"), 0, 8)
        if rule["count"]:
            yield self._rule_toggles(
                "count_of", t("protocol.rule_count_of"), {hz: f"{hz} Hz" for hz in tones}.items()
            )
        named = [(pair, f"{pair[0]} + {pair[1]}") for pair in pairs]
        yield self._rule_toggles("pairs", t("protocol.rule_pairs_line"), named)
        lined = {*rule["count_of"], *(hz for pair in rule["pairs"] for hz in pair)}
        if lined:
            yield Line(t("protocol.rule_lines"))
        for hz in sorted(lined):
            line = rule["lines"].get(str(hz), 30)
            yield self._level_step(f"{hz} Hz", line, partial(draft.set_line, hz), LINES)
        yield from self._single_line(rule["single_line"])
        yield self._part("tests", t("protocol.rule_tests_line"), 1, 4)
        if rule["tests"] > 1:
            yield self._part("days_apart", t("protocol.rule_days_line"), 0, 366)

    def _single_line(self, line: int | None) -> Iterable[Line]:
        t, put = self.t, self.draft.set_rule_part
        start = (self.draft.first.referral and self.draft.first.referral.single_line) or 40
        yield Line(
            t("protocol.rule_single_line"),
            keys=(
                Key(t("protocol.no"), partial(put, "single_line", None), line is None),
                Key(
                    t("protocol.yes"),
                    lambda: put("single_line", start if line is None else line),
                    line is not None,
                ),
            ),
            several=True,
        )
        if line is not None:
            yield self._level_step("", line, partial(put, "single_line"), LINES)

    def _part(self, key: str, label: str, low: int, high: int) -> Line:
        draft = self.draft
        return self._step(
            label, draft["referral"][key], partial(draft.set_rule_part, key), low=low, high=high
        )

    def _rule_toggles(self, key: str, label: str, named: Iterable[tuple[Any, str]]) -> Line:
        had = self.draft["referral"][key]
        return Line(
            label,
            keys=tuple(
                Key(
                    f"✓ {text}" if each in had else text,
                    partial(self.draft.turn_rule, key, each),
                    each in had,
                )
                for each, text in named
            ),
            several=True,
        )

    def _threshold_procedure(self) -> list[Line]:
        return [
            self._choice("threshold_procedure", {way: self.t(f"protocol.way_{way}") for way in PROCEDURES})
        ]

    def _threshold_limit(self) -> list[Line]:
        draft = self.draft
        return [self._level_step("", draft["threshold_limit"], partial(draft.put, "threshold_limit"), LINES)]

    def _grades_due(self) -> list[Line]:
        grades = {
            **{grade: grade for grade in GRADES},
            **{each: each for each in self.draft["grades_due"] if each not in GRADES},
        }
        return [self._toggles("grades_due", grades), Line(self.t("protocol.note_grades"))]

    def _due_reasons(self) -> list[Line]:
        words = {key: self.t.sentence(said) for key, said in DUE_REASONS.items() if key not in COUNTED}
        return [self._toggles("due_reasons", words)]

    def _exemptions(self) -> Iterable[Line]:
        t, draft = self.t, self.draft
        had = draft["exemptions"]
        theirs = {each.reason: each.to_dict() for each in draft.first.exemptions}
        plain = {
            reason: {"reason": reason, "words": words, "keep": "", "months": None}
            for reason, words in EXEMPT.items()
        }
        known = {**plain, **theirs, **{each["reason"]: each for each in had}}
        there = {each["reason"] for each in had}

        def turn(reason: str) -> None:
            kept = [each for each in had if each["reason"] != reason]
            draft.put("exemptions", kept if reason in there else [*had, known[reason]])

        yield Line(
            keys=tuple(
                Key(
                    ("✓ " if reason in there else "") + protocol_words.reason_name(t, reason),
                    partial(turn, reason),
                    reason in there,
                )
                for reason in known
            ),
            several=True,
        )
        for at, each in enumerate(had):
            yield Line(protocol_words.exemption(t, each))
            yield self._step(
                t("protocol.months_line"),
                each["months"] or 0,
                partial(draft.set_in, "exemptions", at, "months"),
                low=0,
                high=240,
            )

    def _could_not_test(self) -> Iterable[Line]:
        t, draft = self.t, self.draft
        for at, rule in enumerate(draft["could_not_test"]):
            put = partial(draft.set_in, "could_not_test", at)
            yield self._step(t("protocol.min_age"), rule["min_age"], partial(put, "min_age"), low=0, high=21)
            yield self._step(
                t("protocol.within"),
                rule["within_days"],
                partial(put, "within_days"),
                by=(1, 7),
                low=0,
                high=730,
            )
            yield Line(
                keys=tuple(
                    Key(
                        t(f"protocol.{word}"),
                        partial(put, "school_days", on),
                        rule["school_days"] is on,
                    )
                    for on, word in ((False, "all_days"), (True, "school_days"))
                ),
                several=True,
            )
            yield Line(t.sentence(rule["action"]))
