"""Frames: what a reader makes of every cut, every flipped byte, and frames that stand where they should not."""

from __future__ import annotations

import json
import random
from collections.abc import Callable

import pytest

from shared.vault import frames
from shared.vault.frames import Reading, Sealer

KEY, STORE, JOURNAL = b"k" * 32, b"s" * 16, b"j" * 16


def sealer(**said: object) -> Sealer:
    settings = {"key": KEY, "store": STORE, "journal": JOURNAL, "kind": "tablet", **said}
    return Sealer(settings.pop("key"), **settings)


def tap(number: int) -> bytes:
    return json.dumps([["entries", {str(number): {"n": number, "heard": number % 3 > 0}}]]).encode()


class Written:
    """A run of transactions, and where each ends."""

    def __init__(self, *transactions: list[bytes], by: Sealer | None = None, seed: int = 1) -> None:
        self.data = b""
        self.ends = [0]
        number, link = 1, frames.FIRST_LINK
        for payloads in transactions:
            parts = list(
                frames.sealed_parts(
                    payloads, by or sealer(), number=number, link=link, random=random.Random(seed).randbytes
                )
            )
            self.data += b"".join(parts)
            self.ends.append(len(self.data))
            number, link = number + len(parts), parts[-1][-frames.TAG_BYTES :]
            seed += 1

    def piece(self, index: int) -> bytes:
        return self.data[self.ends[index] : self.ends[index + 1]]


def payloads(reading: Reading) -> list[bytes]:
    return [payload.rstrip(b" ") for payload in reading.payloads]


TAPS = [[tap(number)] for number in range(12)]


def test_what_was_sealed_is_read_in_order():
    written = Written(*TAPS)
    reading = frames.read(written.data, 0, sealer())
    assert payloads(reading) == [tap(number) for number in range(12)]
    assert (reading.end, reading.number, reading.tail, reading.gaps) == (len(written.data), 13, "clean", [])


@pytest.mark.parametrize("reserve", [0, 1, 44, 45, 46, 600])
def test_cut_at_every_byte_keeps_every_finished_transaction(reserve: int):
    """A truncation is a torn write or nothing: always quiet, never a loss before the cut."""
    written = Written(TAPS[0], [tap(1), tap(2), tap(3)], TAPS[4])
    expected = {0: [], 1: [tap(0)], 2: [tap(0), tap(1), tap(2), tap(3)], 3: [tap(i) for i in range(5)]}
    for cut in range(len(written.data) + 1):
        finished = sum(end <= cut for end in written.ends) - 1
        reading = frames.read(written.data[:cut] + bytes(reserve), 0, sealer())
        assert payloads(reading) == expected[finished]
        assert reading.end == written.ends[finished] and reading.gaps == []
        if reserve == 0:
            assert reading.tail == ("torn" if any(written.data[reading.end : cut]) else "clean")
        if cut == reading.end:
            assert reading.tail == "clean"


def test_a_write_that_reached_the_medium_only_in_part_is_torn():
    """Blocks that were never written read as zeros: in the reserve, as far as the frame was to reach."""
    written = Written(*TAPS[:2], [tap(2) * 9])
    last = written.ends[2]
    for cut in range(last + 4, len(written.data) - frames.TAG_BYTES):
        data = written.data[:cut].ljust(len(written.data) + 4096, b"\0")
        assert frames.read(data, 0, sealer()).tail == "torn"


@pytest.mark.parametrize("flip", [0x01, 0x80, 0xFF])
def test_every_flipped_byte_is_noticed_and_costs_one_transaction_at_most(flip: int):
    written = Written(*TAPS[:4], [tap(4), tap(5)], *TAPS[6:8])
    whole = payloads(frames.read(written.data, 0, sealer()))
    for at in range(len(written.data)):
        data = bytearray(written.data)
        data[at] ^= flip
        reading = frames.read(bytes(data), 0, sealer())
        assert reading.gaps or reading.tail == "damaged"
        kept = payloads(reading)
        hit = next(index for index, end in enumerate(written.ends[1:]) if at < end)
        if hit == 6:
            assert kept == whole[:-1] and reading.tail == "damaged"
        else:
            assert len(reading.gaps) == 1 and reading.lost == 1
            # Only the payload that was hit is missing; of a transaction in two parts the other one is kept.
            assert kept in ([one for one in whole if one != gone] for gone in whole)
            assert reading.end == len(data)


def test_damage_in_the_last_frame_of_a_long_transaction_does_not_hide_what_follows():
    written = Written([tap(0)], [tap(1), tap(2)], [tap(3)])
    data = bytearray(written.data)
    data[written.ends[2] - 3] ^= 1
    reading = frames.read(bytes(data), 0, sealer())
    assert payloads(reading) == [tap(0), tap(1), tap(3)]


@pytest.mark.parametrize("fill", [b"\0", b"\xff", b"\x00\x00\x00\x01"])
def test_a_lost_block_costs_only_the_frames_in_it(fill: bytes):
    written = Written(*[[tap(number)] for number in range(60)])
    data = bytearray(written.data)
    start, size = written.ends[20] + 10, 4096
    data[start : start + size] = fill * (size // len(fill))
    reading = frames.read(bytes(data), 0, sealer())
    touched = [i for i in range(60) if written.ends[i] < start + size and written.ends[i + 1] > start]
    assert payloads(reading) == [tap(number) for number in range(60) if number not in touched]
    assert reading.lost == len(touched) and reading.tail == "clean"


Rearrange = Callable[[Written], bytes]


@pytest.mark.parametrize(
    "rearrange",
    [
        lambda w: w.piece(0) + w.piece(2) + w.piece(1) + w.piece(3),
        lambda w: w.piece(0) + w.piece(2) + w.piece(3),
        lambda w: w.piece(0) + w.piece(1) + w.piece(1) + w.piece(2) + w.piece(3),
        lambda w: w.piece(1) + w.piece(2) + w.piece(3),
    ],
    ids=["swapped", "one taken out", "one twice", "the first taken out"],
)
def test_frames_that_are_genuine_but_out_of_place_are_noticed(rearrange: Rearrange):
    reading = frames.read(rearrange(Written(*TAPS[:4])), 0, sealer())
    assert reading.gaps
    kept = payloads(reading)
    assert kept == sorted(set(kept)), "no frame counts twice, none out of order"
    assert len(kept) >= 3 and tap(3) in kept


def test_a_branch_of_the_same_journal_cannot_be_grafted_on():
    """Two copies of one tablet went on apart: frame 3 of the one does not follow frame 2 of the other."""
    one, other = Written(*TAPS[:4], seed=1), Written(TAPS[0], [tap(50)], *TAPS[2:4], seed=1)
    grafted = one.data[: one.ends[2]] + other.data[other.ends[2] :]
    assert frames.read(grafted, 0, sealer()).gaps


@pytest.mark.parametrize(
    "foreign",
    [{"store": b"S" * 16}, {"journal": b"J" * 16}, {"kind": "book"}, {"key": b"K" * 32}],
    ids=["store", "journal", "kind", "key"],
)
def test_frames_open_only_where_they_belong(foreign: dict[str, object]):
    written = Written(*TAPS[:3], by=sealer(**foreign))
    reading = frames.read(written.data, 0, sealer())
    assert reading.payloads == [] and reading.tail == "damaged"


def test_a_hostile_length_asks_for_nothing():
    written = Written(*TAPS[:1])
    for length in (0, 1, 271, 2**23 + 17, 2**32 - 1):
        data = length.to_bytes(4, "big") + written.data[4:]
        assert frames.read(data, 0, sealer()).payloads == []


def test_reading_goes_on_from_where_an_earlier_reading_ended():
    """The day test stands on this: reading a prefix and then the rest is reading the whole."""
    written = Written(*TAPS)
    whole = frames.read(written.data, 0, sealer())
    for end in written.ends:
        first = frames.read(written.data[:end], 0, sealer())
        rest = frames.read(written.data, end, sealer(), number=first.number, link=first.link)
        assert first.payloads + rest.payloads == whole.payloads
        assert (rest.end, rest.number, rest.link) == (whole.end, whole.number, whole.link)


def test_an_empty_payload_is_padded_too():
    written = Written([b""])
    assert len(written.data) == frames.HEADER_BYTES + frames.PADDING + frames.TAG_BYTES
