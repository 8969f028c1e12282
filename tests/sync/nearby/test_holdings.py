"""What two stores tell each other of their holdings, against the obvious: comparing the sets themselves."""

from __future__ import annotations

import time

from hypothesis import given, settings
from hypothesis import strategies as st

from shared.records.entries import Entry, Kind
from sync.nearby.holdings import BLOCK, MOST_ENTRIES_A_BATCH, Holdings
from sync.nearby.messages import Account, Span


def entry(counter: int, device: str, note: str) -> Entry:
    stamp = f"{1_700_000_000_000 + counter:015d}.{0:06d}@{device}"
    body = {"child": "1@book", "note": note}
    return Entry(f"{counter}@{device}", stamp, "2026-10-14T08:00:00+00:00", "MK", "v", Kind.OBSERVATION, body)


# Counters crowd around the ends of blocks, where runs are cut; notes make several entries share one id.
keys = st.tuples(
    st.one_of(st.integers(1, 12), st.integers(BLOCK - 3, BLOCK + 3)),
    st.sampled_from(["a", "b", "book"]),
    st.sampled_from(["", "", "", "other"]),
)
stores = st.lists(keys, unique=True, max_size=30).map(lambda found: [entry(*key) for key in found])


def texts(entries) -> set[bytes]:
    return {each.canonical() for each in entries}


@given(stores, stores)
@settings(max_examples=300, deadline=None)
def test_nothing_that_is_lacking_is_left_out(mine, theirs):
    ours, other = Holdings(mine), Holdings(theirs)
    for told in (other.account(), Account.decode(other.account().encode())):
        lacking = texts(ours.lacking(told))
        # Never too little; and nothing that the other side holds whole runs of in the same form.
        assert lacking >= texts(mine) - texts(theirs)
    if texts(mine) == texts(theirs):
        assert not ours.lacking(other.account())


@given(stores, stores)
@settings(max_examples=300, deadline=None)
def test_the_answer_says_what_of_the_asked_is_held(mine, theirs):
    """The tablet asks with its account; what the lead's answer does not cover is just what it must send."""
    tablet, lead = Holdings(mine), Holdings(theirs)
    answer = Account.decode(lead.answer(tablet.account()).encode())
    lacking = texts(tablet.lacking(answer))
    assert lacking >= texts(mine) - texts(theirs)
    by_id = {each.id: set() for each in mine}
    for each in theirs:
        by_id.setdefault(each.id, set()).add(each.canonical())
    if all(len(variants) <= 1 for variants in by_id.values()) and texts(mine) <= texts(theirs):
        assert not lacking


@given(stores, stores)
@settings(max_examples=200, deadline=None)
def test_two_rounds_make_both_the_union(mine, theirs):
    tablet, lead = Holdings(mine), Holdings(theirs)
    held = [dict.fromkeys(texts(mine)), dict.fromkeys(texts(theirs))]

    def carry(source, target, place, told) -> None:
        fresh = [each for each in source.lacking(told) if each.canonical() not in held[place]]
        held[place] |= dict.fromkeys(texts(fresh))
        target.add(fresh)

    for _ in range(2):
        before = tablet.account()
        carry(tablet, lead, 1, lead.answer(before))
        carry(lead, tablet, 0, before)
    assert held[0].keys() == held[1].keys() == texts(mine) | texts(theirs)
    assert not tablet.lacking(lead.answer(tablet.account())) and not lead.lacking(tablet.account())


def test_catching_up_takes_what_was_written_past_it_once():
    first, second = entry(1, "a", ""), entry(2, "a", "")
    holdings = Holdings([first])
    holdings.account()
    holdings.catch_up(lambda: [first, second], 2)
    holdings.catch_up(lambda: [first, second], 2)
    assert len(holdings) == 2 and holdings.account() == Holdings([first, second]).account()


def test_only_a_digest_that_matches_shows_that_something_is_held():
    holdings = Holdings([entry(1, "a", ""), entry(2, "a", ""), entry(4, "a", "")])
    true = holdings.account()
    assert holdings.held_by(true) == {"a": {1, 2, 4}}
    (first, last), digest = (true.devices["a"][0].first, true.devices["a"][0].last), bytes(16)
    assert holdings.held_by(Account({"a": (Span(first, last, digest),)})) == {"a": set()}
    assert holdings.held_by(Account({"a": (Span(1, 4, true.devices["a"][0].digest),)})) == {"a": set()}


def test_what_an_account_needs_is_worked_out_in_portions(monkeypatch):
    monkeypatch.setattr("sync.nearby.holdings.MOST_ENTRIES_AT_A_TIME", 4)
    entries = [entry(counter, device, "") for device in "ab" for counter in range(1, 6)]
    holdings, digested = Holdings(entries), []
    monkeypatch.setattr(Entry, "canonical", counted(Entry.canonical, digested))
    assert holdings.prepare(["a"]) and len(digested) == 4
    assert not holdings.prepare(["a"]) and len(digested) == 5
    while holdings.prepare():
        pass
    told = holdings.account()
    assert len(digested) == 10 and told == Holdings(entries).account()
    # What comes later is worked out too, and a second form of an entry anew.
    digested.clear()
    holdings.add([entry(6, "a", ""), entry(1, "b", "other")])
    assert not holdings.prepare() and len(digested) == 3
    assert holdings.account() == Holdings([*entries, entry(6, "a", ""), entry(1, "b", "other")]).account()


def counted(method, calls):
    def run(self):
        calls.append(self)
        return method(self)

    return run


def test_an_account_of_wide_spans_costs_no_more_than_what_is_held():
    """500 spans of 19,998 counters each: looking every counter up would be ten million steps."""
    holdings = Holdings(entry(counter, "a", "") for counter in range(1, 20_001))
    holdings.account()
    wide = Account({"a": tuple(Span(n * 19_999 + 1, n * 19_999 + 19_998, bytes(16)) for n in range(500))})
    begun = time.process_time()
    for _ in range(2):
        holdings.answer(wide)
        holdings.held_by(wide)
    assert time.process_time() - begun < 0.3


def test_batches_are_bounded_and_keep_the_order():
    entries = [entry(counter, "a", "") for counter in range(1, 2501)]
    batches = list(Holdings(entries).batches(entries))
    assert [len(batch) for batch in batches] == [MOST_ENTRIES_A_BATCH, MOST_ENTRIES_A_BATCH, 500]
    assert [each for batch in batches for each in batch] == entries
    long = [entry(counter, "a", "x" * 400_000) for counter in range(1, 6)]
    assert [len(batch) for batch in Holdings(long).batches(long)] == [2, 2, 1]


def test_an_account_that_does_not_fit_leaves_spans_out_rather_than_entries():
    scattered = Holdings(entry(counter, "a", "") for counter in range(1, 60_000, 2))
    told = Account.decode(scattered.account().encode())
    assert 0 < len(told.devices["a"]) < 30_000
    complete = Holdings(entry(counter, "a", "") for counter in range(1, 60_000, 2))
    assert len(complete.lacking(told)) == 30_000 - len(told.devices["a"])
