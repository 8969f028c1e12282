"""Entries: one byte form, and nothing but a whole entry is read."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import Damaged
from shared.records.entries import Entry, Kind
from shared.records.stamps import milliseconds, stamp_after

GOOD = {
    "id": "7@abc",
    "stamp": "000001797000000.000002@abc",
    "at": "2026-10-14T08:30:00-05:00",
    "author": "MK",
    "visit": "v",
    "kind": "tone-answered",
    "body": {
        "child": "1@b",
        "screening": "6@abc",
        "ear": "right",
        "hz": 1000,
        "level_db_hl": 20,
        "heard": True,
    },
}


def test_a_whole_entry_comes_back_equal():
    entry = Entry.from_document(GOOD)
    assert entry.to_document() == GOOD
    assert (entry.counter, entry.device, entry.child) == (7, "abc", "1@b")
    assert Entry.from_document(entry.to_document()).canonical() == entry.canonical()


@pytest.mark.parametrize(
    "change",
    [
        {"id": "0@abc"},
        {"id": "x@abc"},
        {"id": "7@"},
        {"id": "7"},
        {"id": 7},
        {"id": "٧@abc"},
        {"kind": "dance"},
        {"kind": None},
        {"body": []},
        {"body": {}},
        {"body": {**GOOD["body"], "hz": "1000"}},
        {"body": {**GOOD["body"], "heard": 1}},
        {"stamp": 5},
        {"at": "yesterday"},
        {"author": None},
    ],
)
def test_anything_else_is_refused_without_saying_what_it_held(change):
    with pytest.raises(Damaged) as refused:
        Entry.from_document({**GOOD, **change})
    assert "abc" not in str(refused.value)


@given(st.dictionaries(st.text(), st.recursive(st.none() | st.text() | st.integers(), st.lists)))
def test_no_document_raises_anything_but_damaged(document):
    with contextlib.suppress(Damaged):
        Entry.from_document({**GOOD, **document})


@given(st.lists(st.integers(0, 2**41), max_size=30))
def test_stamps_only_ever_grow_whatever_the_clock_does(clock):
    """Monotonicity of hybrid logical clocks: Kulkarni et al., OPODIS 2014 (from memory)."""
    last = ""
    for now in clock:
        following = stamp_after(last, now, "d")
        assert following > last
        assert milliseconds(following) >= now
        last = following


def test_every_kind_is_explained():
    assert len(set(Kind)) == len(Kind)
