"""The entry: one immutable record, written once and never changed. Its kinds and their bodies live here.

An entry's id is ``counter@device``, counters gapless per device from 1. ``stamp`` is the hybrid logical
stamp (see ``stamps``) that orders entries of all devices; ``at`` is the wall clock as the device saw it
(ISO 8601 local time with offset), which may be wrong and is never used for ordering.

A child is known by the id of the entry that listed or added it; every other entry about the child says
``child: <that id>`` in its body.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import datetime
from enum import StrEnum
from sys import intern
from typing import Any, NamedTuple

from shared.errors import Damaged

_encode = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode


class Kind(StrEnum):
    """What an entry says. The comment gives the fields of its body (``?`` may be missing)."""

    VISIT_PREPARED = "visit-prepared"  # school, protocol (whole, as data), dates, rescreen_days?
    TABLET_NAMED = "tablet-named"  # tablet, device, copy?: this device is the tablet of that name
    CHILD_LISTED = (
        "child-listed"  # student_number given family born grade class language? address? exemptions? ...
    )
    CHILD_ADDED = (
        "child-added"  # as listed, without a roster behind it; unlike? [record ids] shown and denied
    )
    CHILD_CORRECTED = "child-corrected"  # child, fields: {field: new value}, by_hand? (not by a roster)
    CHILD_LEFT = "child-left"  # child: no longer on the newer roster
    READINESS_CHECKED = "readiness-checked"  # passed and its facts; short way: repeated carried_over_from
    # child level_db_hl grade drop purpose after? replaces? why? knowing? ([entry ids] found of the child before)
    SCREENING_BEGUN = "screening-begun"
    TONE_ANSWERED = "tone-answered"  # child screening ear hz level_db_hl heard presentations?
    ANSWER_WITHDRAWN = "answer-withdrawn"  # child screening answer (entry id of tone or reseat): undo
    EARPHONES_RESEATED = "earphones-reseated"  # child screening
    SCREENING_FINISHED = "screening-finished"  # child screening
    SCREENING_STOPPED = "screening-stopped"  # child screening why: broken off, no result
    NOT_TESTED = "not-tested"  # child reason (a Reason) note? screening? signs? ears? (of an ear problem)
    OBSERVATION = "observation"  # child note signs? ears? (seen, but no reason against earphones)
    THRESHOLD_BEGUN = "threshold-begun"  # child
    THRESHOLD_STEP = "threshold-step"  # child test ear hz level_db_hl heard
    STEP_WITHDRAWN = "step-withdrawn"  # child test step (entry id): undo
    THRESHOLD_FOUND = "threshold-found"  # child test ear hz threshold_db_hl (None: no response) limit_db_hl
    THRESHOLD_FINISHED = "threshold-finished"  # child test disagreed? ([ear, hz]: not reliable)
    SAME_CHILD = "same-child"  # records [id, id] evidence? automatic?
    DIFFERENT_CHILD = "different-child"  # records [id, id]
    RESULT_RULED = "result-ruled"  # child status seen found? (what was found of the child then) why? doubt?
    DOUBT_SETTLED = "doubt-settled"  # doubt decision
    # decision (entry id), child? children? : undo of the four above, of a step of a follow-up, of a tablet set
    # aside, of the visit's closing
    DECISION_WITHDRAWN = "decision-withdrawn"
    WATCH_RAISED = "watch-raised"  # ear hz what since: the station watch asked for a check
    PAPER_ISSUED = "paper-issued"  # paper number children
    # tablet (its id in the book) why (unused lost) handout return: what was known of it then; newer ends the mark
    TABLET_SET_ASIDE = "tablet-set-aside"
    VISIT_CLOSED = "visit-closed"  # gathered? {device: how many of its entries the book had then}
    # child step note? day? found? (of a closing: what was found of the child then) : sent reminded seen findings, or
    # a closing: no-loss under-care moved declined lost, or closed for another reason, which the note says (before
    # 2026-11 it might say nothing)
    FOLLOWUP_NOTED = "followup-noted"
    # child examined examiner? earphones? note? right? left? (air? bone?: Hz -> threshold, see
    # ``hearing.examination``) day? replaces? (entry id that this corrects); since 2026-11
    EXAMINATION_NOTED = "examination-noted"

    # As a plain word's: an enumeration's own is written in Python, and every entry asks for it many times.
    __hash__ = str.__hash__


#: The kinds that make a record of a child.
LISTINGS = (Kind.CHILD_LISTED, Kind.CHILD_ADDED)


class Reason(StrEnum):
    """Why a child was not tested; also the ``do`` words of a script line."""

    ABSENT = "absent"
    DECLINED = "declined"
    UNDER_CARE = "under-care"
    COULD_NOT_TEST = "could-not-test"
    EAR_PROBLEM = "ear-problem"


#: What no tablet is given: an examiner's audiogram is the office's, and a tablet can be lost.
STAYS_IN_THE_BOOK = frozenset({Kind.EXAMINATION_NOTED})

EARS = ("right", "left")

_KINDS: Mapping[str, Kind] = {kind.value: kind for kind in Kind}
_CHILD: Mapping[str, type] = {"child": str}
_TONE: Mapping[str, type] = {"child": str, "ear": str, "hz": int, "level_db_hl": int, "heard": bool}
# What a body must hold, and of which type, for an entry to be read at all; everything else may be missing.
_NEEDED: Mapping[Kind, Mapping[str, type]] = {
    Kind.VISIT_PREPARED: {"school": str, "protocol": dict, "dates": list},
    Kind.CHILD_LISTED: {"given": str, "family": str},
    Kind.CHILD_ADDED: {"given": str, "family": str},
    Kind.CHILD_CORRECTED: {**_CHILD, "fields": dict},
    Kind.CHILD_LEFT: _CHILD,
    Kind.READINESS_CHECKED: {"passed": bool},
    Kind.SCREENING_BEGUN: {**_CHILD, "level_db_hl": int},
    Kind.TONE_ANSWERED: {**_TONE, "screening": str},
    Kind.ANSWER_WITHDRAWN: {**_CHILD, "answer": str},
    Kind.EARPHONES_RESEATED: {**_CHILD, "screening": str},
    Kind.SCREENING_FINISHED: {**_CHILD, "screening": str},
    Kind.SCREENING_STOPPED: {**_CHILD, "screening": str},
    Kind.NOT_TESTED: {**_CHILD, "reason": str},
    Kind.OBSERVATION: {**_CHILD, "note": str},
    Kind.THRESHOLD_BEGUN: _CHILD,
    Kind.THRESHOLD_STEP: {**_TONE, "test": str},
    Kind.STEP_WITHDRAWN: {**_CHILD, "step": str},
    Kind.THRESHOLD_FOUND: {**_CHILD, "test": str, "ear": str, "hz": int, "limit_db_hl": int},
    Kind.THRESHOLD_FINISHED: {**_CHILD, "test": str},
    Kind.SAME_CHILD: {"records": list},
    Kind.DIFFERENT_CHILD: {"records": list},
    Kind.RESULT_RULED: {**_CHILD, "status": str, "seen": list},
    Kind.DOUBT_SETTLED: {"doubt": str},
    Kind.DECISION_WITHDRAWN: {"decision": str},
    Kind.PAPER_ISSUED: {"children": list},
    Kind.TABLET_SET_ASIDE: {"tablet": str, "why": str},
    Kind.FOLLOWUP_NOTED: {**_CHILD, "step": str},
    Kind.EXAMINATION_NOTED: {**_CHILD, "examined": str},
}
# What may be missing, but must be of its type where it is there: what is read of an entry must not fail later, when
# the entry is in the book for good.
_MAY: Mapping[Kind, Mapping[str, tuple[type, ...]]] = {
    Kind.CHILD_LISTED: {"address": (list,), "due_reasons": (list,), "exemptions": (list,)},
    Kind.CHILD_ADDED: {"address": (list,), "due_reasons": (list,), "exemptions": (list,), "unlike": (list,)},
    Kind.SCREENING_BEGUN: {"drop": (list,), "knowing": (list,)},
    Kind.TONE_ANSWERED: {"presentations": (int,)},
    Kind.THRESHOLD_FOUND: {"threshold_db_hl": (int, type(None))},
    Kind.SAME_CHILD: {"evidence": (list,)},
    Kind.DIFFERENT_CHILD: {"evidence": (list,)},
}
_MEASURED = (Kind.TONE_ANSWERED, Kind.THRESHOLD_STEP, Kind.THRESHOLD_FOUND)
_YEARS = ("1900", "3000")
_STAMP = re.compile(r"0\d{14}\.\d{6}@.+", re.ASCII)  # a stamp of these can always be followed by another


class Entry(NamedTuple):  # quicker made than a frozen dataclass, and a day makes hundreds of thousands
    """One immutable record. ``body`` holds only JSON values and must not be changed by anyone."""

    id: str
    stamp: str
    at: str
    author: str
    visit: str
    kind: Kind
    body: Mapping[str, Any]

    @property
    def counter(self) -> int:
        """The entry's place in its device's own sequence, from 1."""
        return int(self.id.partition("@")[0])

    @property
    def device(self) -> str:
        """The id of the device that wrote it, whichever of its histories this is of."""
        return self.id.partition("@")[2].partition("~")[0]

    @property
    def history(self) -> str:
        """The device, and which of its histories where it has several (see ``histories``)."""
        return self.id.partition("@")[2]

    @property
    def child(self) -> str | None:
        """The record id of the child it is about, itself for a listing, or None."""
        if self.kind in LISTINGS:
            return self.id
        child = self.body.get("child")
        return child if isinstance(child, str) else None

    @property
    def subjects(self) -> tuple[str, ...]:
        """The record ids of all children it is about: one for most kinds, many for a paper, none for a visit."""
        child = self.child
        if child is not None:
            return (child,)
        children = self.body.get("children")
        return tuple(map(str, children)) if isinstance(children, list) else ()

    def to_document(self) -> dict[str, Any]:
        """The entry as a JSON-ready document, as stored and sent."""
        return {
            "id": self.id,
            "stamp": self.stamp,
            "at": self.at,
            "author": self.author,
            "visit": self.visit,
            "kind": self.kind.value,
            "body": self.body,
        }

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> Entry:
        """Read a document back; raises ``Damaged`` where it is not an entry."""
        try:
            entry_id, stamp, at = document["id"], document["stamp"], document["at"]
            author, visit, body = document["author"], document["visit"], document["body"]
            counter, at_sign, device = entry_id.partition("@")
            whole = (
                at_sign
                and device
                and "~" not in device
                and counter.isascii()
                and counter.isdigit()
                and counter[0] != "0"
            )
            texts = type(stamp) is type(at) is type(author) is type(visit) is str
            if not whole or not texts or type(body) is not dict or _STAMP.fullmatch(stamp) is None:
                raise ValueError
            kind = _KINDS[document["kind"]]
            moment = datetime.fromisoformat(at)
            if moment.tzinfo is None or moment.isoformat(timespec="seconds") != at:
                raise ValueError
            if not (_YEARS[0] <= at < _YEARS[1] and _readable(kind, body)):
                raise ValueError
            return cls(entry_id, stamp, at, intern(author), intern(visit), kind, _shared(body))
        except (KeyError, TypeError, ValueError, AttributeError):
            raise Damaged(
                "An entry in this file cannot be read.",
                todo="Ask for the file again, or for the newest Quietbell.",
            ) from None

    def canonical(self) -> bytes:
        """The one byte form two equal entries share (sorted keys, no spaces, UTF-8)."""
        return _encode(self.to_document()).encode()


def _readable(kind: Kind, body: Mapping[str, Any]) -> bool:
    """Whether everything that the fold reads is there, and of its type."""
    for name, needed in _NEEDED.get(kind, {}).items():
        if type(body[name]) is not needed:
            return False
    for name, types in _MAY.get(kind, {}).items():
        if name in body and type(body[name]) not in types:
            return False
    if kind is Kind.SCREENING_BEGUN:
        return all(type(hz) is int for hz in body.get("drop", ()))
    return kind not in _MEASURED or _measured(body)


def _measured(body: Mapping[str, Any]) -> bool:
    """Whether a tone's ear, frequency and level are such as an audiometer can give."""
    levels = (body.get("level_db_hl"), body.get("threshold_db_hl"), body.get("limit_db_hl"))
    return (
        body["ear"] in EARS
        and 0 < body["hz"] < 100_000
        and all(level is None or -100 <= level <= 200 for level in levels)
    )


def _shared(body: Mapping[str, Any]) -> dict[str, Any]:
    """The body, its words shared with other entries': of millions of entries half the memory would be copies."""
    return {intern(name): intern(v) if type(v) is str else v for name, v in body.items()}
