"""Whole talks in memory: cut at any byte, in any order, again and again; always the union, never more, never less.

The reference is the union of the sets of entries: invariant 3.
"""

from __future__ import annotations

import itertools

import pytest

from sync.nearby.troubles import Cut
from tests.sync.nearby.conftest import MemoryBook, MemoryStore, entry, exchange


def tablets():
    return [
        MemoryStore(name, [entry(1, "book"), *(entry(counter, name) for counter in range(1, 6))])
        for name in "abc"
    ]


def test_every_order_of_arrival_ends_the_same():
    for order in itertools.permutations(range(3)):
        stores, book = tablets(), MemoryBook([entry(1, "book")])
        for place in order:
            exchange(book, stores[place])
        everything = {text for store in tablets() for text in store.entries}
        assert set(book.entries) == everything
        # Whoever came last knows all; a second round brings it to the others.
        assert set(stores[order[-1]].entries) == everything
        for store in stores:
            exchange(book, store)
            assert set(store.entries) == everything


def test_a_talk_may_be_cut_at_every_byte_either_way():
    _, _, up, down = exchange(MemoryBook([entry(1, "book"), entry(1, "z")]), tablets()[0])
    for way, length in (("cut_up", len(up)), ("cut_down", len(down))):
        for place in range(length + 1):
            store, book = tablets()[0], MemoryBook([entry(1, "book"), entry(1, "z")])
            union = set(store.entries) | set(book.entries)
            sent, heard, _, _ = exchange(book, store, **{way: place})
            assert set(book.entries) <= union and set(store.entries) <= union
            # What the tablet saw acknowledged is in the book.
            if store.acknowledged_batches:
                assert set(store.entries) - {entry(1, "z").canonical()} <= set(book.entries)
            if place < length:
                assert isinstance(sent, Cut) or isinstance(heard, Cut)
            sent, heard, _, _ = exchange(book, store)
            assert not isinstance(sent, Exception) and not isinstance(heard, Exception)
            assert set(book.entries) == set(store.entries) == union


@pytest.mark.parametrize("piece", [1, 2, 7, 4096])
def test_pieces_of_any_size_say_the_same(piece):
    store, book = tablets()[0], MemoryBook([entry(1, "book"), entry(1, "z")])
    sent, heard, up, down = exchange(book, store, piece=piece)
    whole = exchange(MemoryBook([entry(1, "book"), entry(1, "z")]), tablets()[0])
    assert (sent, heard, up, down) == whole


def test_many_batches_keep_the_window_and_all_arrive():
    store = MemoryStore("a", [entry(counter, "a", "x" * 1500) for counter in range(1, 20_001)])
    book = MemoryBook()
    sent, heard, _, _ = exchange(book, store)
    assert sent.batches == heard.batches == store.acknowledged_batches > 20
    assert sent.held == 20_000 and set(book.entries) == set(store.entries)
    again, _, up, _ = exchange(book, store)
    assert again.batches == 1 and len(up) < 5000


def test_copies_that_went_on_apart_converge():
    common = [entry(counter, "a") for counter in range(1, 5)]
    first = MemoryStore("a", [*common, entry(5, "a", "one way")])
    second = MemoryStore("a", [*common, entry(5, "a", "the other"), entry(6, "a")])
    book = MemoryBook()
    for store in (first, second, first, second):
        exchange(book, store)
    assert set(first.entries) == set(second.entries) == set(book.entries)
    assert len(book.entries) == 7
