"""The talk as a table: the two sides mirror each other, what the tables do not name is refused, and the recorded
exchanges in ``tests/vectors/nearby`` are read the same way whole, in pieces and byte by byte."""

from __future__ import annotations

from pathlib import Path

import pytest

from shared.errors import QuietbellError
from sync.nearby.frames import LIMITS, FrameReader, Kind, frame
from sync.nearby.messages import Account, Ack, Batch, End, Hello, Refusal, Span, Welcome, decode
from sync.nearby.session import LEAD, TABLET, WINDOW, Session, State, Way
from sync.nearby.troubles import Code, Cut, Unruly, code_of, cut, told

VECTORS = Path(__file__).resolve().parents[2] / "vectors" / "nearby"
MESSAGES = {
    Kind.HELLO: Hello(1, "visit1", "tablet1", "device1", 7, bytes(range(32))),
    Kind.WELCOME: Welcome(1),
    Kind.ACCOUNT: Account({"device1": (Span(1, 3, bytes(range(16))), Span(5, 5, bytes(16)))}),
    Kind.BATCH: Batch(b"batch one"),
    Kind.ACK: Ack(1, 3),
    Kind.END: End(1, 7),
    Kind.REFUSAL: Refusal(Code.BUSY),
}


def test_what_one_side_may_say_the_other_may_hear_and_the_other_way_round():
    mirrored = {
        (state, Way.GOT if way is Way.SAID else Way.SAID, kind): after
        for (state, way, kind), after in TABLET.items()
        if state not in (State.BRINGING, State.RETURNING, State.IN_HAND)
    }
    plain = {
        key: after
        for key, after in LEAD.items()
        if key[0] not in (State.BRINGING, State.RETURNING, State.IN_HAND)
    }
    assert mirrored == plain
    # Where batches go, the giver may be ahead and the taker has one in hand.
    for giver, taker, during, after in (
        (TABLET, LEAD, State.BRINGING, State.RETURNING),
        (LEAD, TABLET, State.RETURNING, State.CLOSING),
    ):
        assert giver[during, Way.SAID, Kind.BATCH] is giver[during, Way.GOT, Kind.ACK] is during
        assert taker[during, Way.GOT, Kind.BATCH] is State.IN_HAND
        assert taker[State.IN_HAND, Way.SAID, Kind.ACK] is during
        assert giver[during, Way.SAID, Kind.END] is taker[during, Way.GOT, Kind.END] is after


@pytest.mark.parametrize("table", [LEAD, TABLET], ids=["lead", "tablet"])
@pytest.mark.parametrize("state", State)
@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.REFUSAL])
def test_whatever_the_table_does_not_name_is_refused_and_changes_nothing(table, state, kind):
    for way in Way:
        session = Session(table)
        session.state, session.got, session.said = state, 1, 1
        if (state, way, kind) in table:
            continue
        if way is Way.SAID:
            with pytest.raises(Unruly):
                session.say(MESSAGES[kind])
        else:
            session.feed(frame(kind, MESSAGES[kind].encode()))
            if state in (State.OVER, State.REFUSED):
                assert session.next() is None
            else:
                with pytest.raises(Unruly):
                    session.next()
        assert session.state is state


@pytest.mark.parametrize("message", MESSAGES.values(), ids=lambda message: message.kind.name)
def test_messages_come_back_as_they_went(message):
    assert decode(message.kind, message.encode()) == message


@pytest.mark.parametrize("code", Code)
def test_every_refusal_has_its_words_on_the_other_side(code):
    assert decode(Kind.REFUSAL, Refusal(code).encode()) == Refusal(code)
    error = told(code)
    assert isinstance(error, QuietbellError) and error.happened and error.todo
    assert code_of(cut()) is Code.STOPPED


def test_a_code_of_a_later_version_is_understood_as_busy():
    assert decode(Kind.REFUSAL, b'{"code":"moonlight"}') == Refusal(Code.BUSY)


@pytest.mark.parametrize("kind", Kind)
def test_a_length_beyond_the_limit_is_refused_before_the_body_comes(kind):
    reader = FrameReader()
    reader.feed(bytes([kind]) + (LIMITS[kind] + 1).to_bytes(4, "big"))
    with pytest.raises(Unruly):
        reader.next()
    reader = FrameReader()
    reader.feed(bytes([kind]) + LIMITS[kind].to_bytes(4, "big"))
    assert reader.next() is None and reader.partial


def test_the_window_and_the_numbers_are_kept():
    session = Session(TABLET)
    session.state = State.BRINGING
    for _ in range(WINDOW):
        session.say(Batch(b""))
    with pytest.raises(Unruly, match="at once"):
        session.say(Batch(b""))
    with pytest.raises(Unruly, match="end"):
        session.say(End(WINDOW, 0))
    session.feed(frame(Kind.ACK, Ack(1, 0).encode()) + frame(Kind.ACK, Ack(3, 0).encode()))
    assert session.next() == Ack(1, 0)
    with pytest.raises(Unruly, match="acknowledgement"):
        session.next()


def test_the_end_before_the_end_is_a_cut():
    session = Session(LEAD)
    with pytest.raises(Cut):
        session.feed(b"")


# -- recorded exchanges ----------------------------------------------------------------------------


def read_vector(file: Path) -> list[tuple[str, bytes]]:
    """Lines ``tablet: HEX`` and ``lead: HEX`` in the order in which they were said; ``#`` begins a remark."""
    said = []
    for line in file.read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            who, _, data = line.partition(": ")
            said.append((who, bytes.fromhex(data)))
    return said


def hear_until(session: Session, ready) -> list[bytes]:
    """Hear messages, as a talk does, until ``ready``; gives what was heard, encoded again."""
    heard = []
    while not ready() and (message := session.next()) is not None:
        heard.append(frame(message.kind, message.encode()))
    return heard


@pytest.mark.parametrize("piece", [1, 3, 64, 1 << 20])
@pytest.mark.parametrize("file", sorted(VECTORS.glob("[!r]*.txt")), ids=lambda file: file.stem)
def test_recorded_exchanges_go_to_their_end(file, piece):
    """Both sides, each hearing the other's recorded bytes: the same messages, the same bytes said, the same end."""
    sides = {"tablet": Session(TABLET), "lead": Session(LEAD)}
    heard: dict[str, list[bytes]] = {"tablet": [], "lead": []}
    said: dict[str, list[bytes]] = {"tablet": [], "lead": []}
    for who, data in read_vector(file):
        side, other = sides[who], "lead" if who == "tablet" else "tablet"
        kind, payload = only_frame(data)
        message = decode(kind, payload)

        def ready(side=side, kind=kind, message=message) -> bool:
            waiting = isinstance(message, End) and side.outstanding
            return (side.state, Way.SAID, kind) in side._table and not waiting

        heard[who] += hear_until(side, ready)
        assert side.say(message) == data
        said[who].append(data)
        for place in range(0, len(data), piece):
            sides[other].feed(data[place : place + piece])
    for who, side in sides.items():
        heard[who] += hear_until(side, lambda: False)
        assert side.state is State.OVER and not side.partial
    assert heard == {"tablet": said["lead"], "lead": said["tablet"]}


def only_frame(data: bytes) -> tuple[Kind, bytes]:
    reader = FrameReader()
    reader.feed(data)
    found = reader.next()
    assert found is not None and reader.next() is None and not reader.partial
    return found


@pytest.mark.parametrize("file", sorted(VECTORS.glob("refused*.txt")), ids=lambda file: file.stem)
def test_recorded_refusals_end_both_sides(file):
    sides = {"tablet": Session(TABLET), "lead": Session(LEAD)}
    *before, (who, last) = read_vector(file)
    for each, data in before:
        sides[each].say(decode(*only_frame(data)))
        other = sides["lead" if each == "tablet" else "tablet"]
        other.feed(data)
        assert other.next() is not None
    other = sides["lead" if who == "tablet" else "tablet"]
    other.feed(last)
    if "negative" in file.stem:
        with pytest.raises(Unruly):
            other.next()
        return
    assert isinstance(other.next(), Refusal) and other.state is State.REFUSED and other.next() is None
    sides[who].say(decode(*only_frame(last)))
    assert sides[who].over
