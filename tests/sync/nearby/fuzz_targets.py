"""What is fuzzed, the inputs that are right, and how they are mutated. ``fuzz.py`` runs it.

So that mutations reach what lies behind the signature and the seal, some targets sign and seal the mutated body
themselves, as a tablet would that someone has turned against its lead.
"""

from __future__ import annotations

import json
import random
import sys
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

from fieldapp.services.nearby.address import Address
from shared.errors import QuietbellError
from shared.hearing.protocol import Protocol
from shared.records.entries import Entry, Kind
from shared.records.register import Register
from shared.vault import CHEAP
from sync import sealed
from sync.handout import Handout, read_handout, write_handout
from sync.nearby.authority import Authority, Role, holder_of
from sync.nearby.frames import frame
from sync.nearby.holdings import Holdings
from sync.nearby.messages import Account, Ack, Batch, End, Hello, Refusal, Span, Welcome
from sync.nearby.news import read_news, write_news
from sync.nearby.session import LEAD, TABLET, Session, State
from sync.nearby.troubles import Code
from sync.returns import Return, read_entries, read_return, write_return

SIGNING = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
SIGNING_PUBLIC = SIGNING.public_key().public_bytes_raw()
SEALING = X25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
SEALING_PUBLIC = SEALING.public_key().public_bytes_raw()
NOW = datetime(2026, 10, 14, tzinfo=UTC)
LARGEST = 1 << 20


def entry(counter: int, kind: Kind, **body: object) -> Entry:
    stamp = f"{1_700_000_000_000 + counter:015d}.{0:06d}@dev"
    return Entry(f"{counter}@dev", stamp, "2026-10-14T08:00:00+00:00", "MK", "v", kind, body)


def entries() -> tuple[Entry, ...]:
    child = {"child": "1@dev"}
    tone = {**child, "screening": "2@dev", "ear": "right", "hz": 1000, "level_db_hl": 20, "heard": True}
    return (
        entry(1, Kind.CHILD_ADDED, given="Ada", family="Alder", born="2018-03-14", grade="3"),
        entry(2, Kind.SCREENING_BEGUN, **child, level_db_hl=20, purpose="first"),
        entry(3, Kind.TONE_ANSWERED, **tone),
        entry(4, Kind.ANSWER_WITHDRAWN, **child, screening="2@dev", answer="3@dev"),
        entry(5, Kind.NOT_TESTED, **child, reason="absent", note="fièvre"),
        entry(6, Kind.SAME_CHILD, records=["1@dev", "9@other"], automatic=True, evidence=[]),
        entry(7, Kind.PAPER_ISSUED, paper="letter", number="1", children=["1@dev"]),
    )


def a_return(body: tuple[Entry, ...]) -> bytes:
    at = "2026-10-14T08:00:00+00:00"
    returned = Return("v", "t", "dev", at, at, at, 7, body)
    return write_return(
        returned, lead_sealing_public=SEALING_PUBLIC, tablet_signing_private=SIGNING.private_bytes_raw()
    )


def a_handout() -> bytes:
    authority = Authority.make("v", NOW)
    handout = Handout(
        visit="v",
        school="Quillmarsh School",
        tablet="A",
        tablet_id="t",
        tablet_signing_private=bytes(32),
        lead_signing_public=SIGNING_PUBLIC,
        lead_sealing_public=SEALING_PUBLIC,
        book_device="book",
        made_at="2026-10-14T08:00:00+00:00",
        authority=authority.certificate,
        identity=authority.issue(Role.TABLET, "t", NOW),
        entries=entries(),
    )
    return write_handout(
        handout,
        passphrase="seven quiet bells ring",
        lead_signing_private=SIGNING.private_bytes_raw(),
        random=random.Random(1).randbytes,
        cost=CHEAP,
    )


def open_return(data: bytes) -> Return:
    return read_return(
        data,
        visit="v",
        tablet_keys={"t": SIGNING_PUBLIC},
        lead_sealing_private=SEALING.private_bytes_raw(),
        largest=LARGEST,
    )


# -- the targets: each takes bytes and may raise nothing but a QuietbellError ------------------------


def read_a_return(data: bytes) -> None:
    open_return(data)


def read_a_handout(data: bytes) -> None:
    read_handout(data, "seven quiet bells ring")


def read_a_batch_of_news(data: bytes) -> None:
    read_news(
        data, visit="v", tablet_id="t", key=SEALING, lead_signing_public=SIGNING_PUBLIC, largest=LARGEST
    )


def read_a_body(data: bytes) -> None:
    """The lines behind signature and seal, from a tablet that someone has turned against its lead."""
    header = {"visit": "v", "tablet": "t"}
    lines = _first_line() + b"\n" + data
    for entry in open_return(_sealed(header, zlib.compress(lines, 1))).entries:
        # Whatever was read can be written, stored, compared and told apart again.
        again = Entry.from_document(json.loads(entry.canonical()))
        assert again == entry and again.canonical() == entry.canonical()


@cache
def _first_line() -> bytes:
    return json.dumps(next(sealed.take_apart(a_return(()), sealed.FileKind.RETURN).unseal(SEALING))).encode()


def read_a_stream(data: bytes) -> None:
    """What is behind the seal, before it is unpacked."""
    open_return(_sealed({"visit": "v", "tablet": "t"}, data))


def _sealed(header: dict[str, Any], packed: bytes, kind: int = 2, to: X25519PrivateKey = SEALING) -> bytes:
    head = json.dumps(header, sort_keys=True, separators=(",", ":")).encode()
    bound = sealed._PRELUDE.pack(sealed.MAGIC, 1, kind, len(head), len(packed) + 48) + head
    inside = sealed._SUITE.encrypt(packed, to.public_key(), info=bound)
    return bound + inside + SIGNING.sign(bound + inside)


@cache
def _inside_a_handout() -> tuple[dict[str, Any], X25519PrivateKey, bytes]:
    """Header, the key that it is sealed to, and the lines; the key is the first thing ``a_handout`` draws."""
    opener = X25519PrivateKey.from_private_bytes(random.Random(1).randbytes(32))
    apart = sealed.take_apart(a_handout(), sealed.FileKind.HANDOUT)
    return dict(apart.header), opener, b"\n".join(json.dumps(line).encode() for line in apart.unseal(opener))


def read_inside_a_handout(data: bytes) -> None:
    """The lines of a handout, from someone who knows its passphrase and forges it."""
    header, opener, _ = _inside_a_handout()
    read_a_handout(_sealed(header, zlib.compress(data, 1), 1, opener))


def read_inside_news(data: bytes) -> None:
    """The lines of news, from a lead that someone has turned against its tablets."""
    packed = zlib.compress(b'{"tablet_id":"t","visit":"v"}\n' + data, 1)
    read_a_batch_of_news(_sealed({"visit": "v", "tablet": "t"}, packed, 3))


def fold_a_body(data: bytes) -> None:
    """The same lines, taken into a register and folded: what a hostile tablet could do to the book's view."""
    register = Register()
    register.add(_PREPARED)
    try:
        read = read_entries([sealed._read(line) for line in data.decode().split("\n")])
    except (ValueError, RecursionError):  # what ``unseal`` says in words
        return
    register.add(each for each in read if each.kind is not Kind.VISIT_PREPARED)
    Holdings(read).account()
    register.standings()


def hear_a_session(data: bytes) -> None:
    """Bytes into both sides, in every state; the first byte chooses."""
    if not data:
        return
    table = LEAD if data[0] & 1 else TABLET
    session = Session(table)
    session.state = list(State)[(data[0] >> 1) % len(State)]
    session.said = session.got = 3
    session.acknowledged = 1
    session.feed(data[1:])
    while (message := session.next()) is not None:
        if isinstance(message, Account):
            Holdings(entries()).answer(message)
            Holdings(entries()).lacking(message)
        if session.state is State.IN_HAND:
            session.say(Ack(session.got, 0))


def read_a_certificate(data: bytes) -> None:
    holder_of(data)


def read_an_address(data: bytes) -> None:
    address = Address.parse(data.decode("utf-8", "replace"))
    assert Address.parse(address.qr_text) == address


@dataclass(frozen=True)
class Target:
    """What is fuzzed, and inputs that are right."""

    run: Callable[[bytes], None]
    seeds: Callable[[], list[bytes]]


def _session_seeds() -> list[bytes]:
    hello = Hello(1, "visit1", "tablet1", "dev", 7, bytes(range(32)))
    account = Account({"dev": (Span(1, 3, bytes(16)), Span(5, 7, bytes(16)))})
    states = list(State)
    said = [
        (LEAD, State.OPEN, [hello]),
        (LEAD, State.WELCOMED, [account, Batch(b"x")]),
        (LEAD, State.BRINGING, [Batch(b"x" * 50), Batch(b"y"), End(5, 0)]),
        (LEAD, State.RETURNING, [Ack(2, 0), Ack(3, 1), Refusal(Code.FULL)]),
        (TABLET, State.GREETED, [Welcome(1), account]),
        (TABLET, State.BRINGING, [Ack(2, 0), Ack(3, 7)]),
        (TABLET, State.RETURNING, [Batch(b"news"), End(4, 7)]),
    ]
    return [
        bytes([(states.index(state) << 1) | (table is LEAD)])
        + b"".join(frame(each.kind, each.encode()) for each in messages)
        for table, state, messages in said
    ]


def _lines() -> list[bytes]:
    every = [each.canonical() for each in entries()]
    return [*every, b"\n".join(every)]


_PREPARED = [
    Entry(
        "1@book",
        f"{1_600_000_000_000:015d}.000000@book",
        "2026-10-14T07:00:00+00:00",
        "lead",
        "v",
        Kind.VISIT_PREPARED,
        {"school": "Quillmarsh School", "dates": ["2026-10-14"], "protocol": {}},
    )
]


def _prepare() -> None:
    from fieldapp.services.presets import load_protocol

    protocol: Protocol = load_protocol("aaa-2011")
    first = _PREPARED[0]
    body = {**first.body, "protocol": protocol.to_dict()}
    _PREPARED[0] = Entry(first.id, first.stamp, first.at, first.author, first.visit, first.kind, body)


_prepare()

TARGETS = {
    "session": Target(hear_a_session, _session_seeds),
    "return": Target(read_a_return, lambda: [a_return(entries()), a_return(())]),
    "handout": Target(read_a_handout, lambda: [a_handout()]),
    "news": Target(
        read_a_batch_of_news,
        lambda: [
            write_news(
                entries(),
                visit="v",
                tablet_id="t",
                news_key=SEALING_PUBLIC,
                lead_signing_private=SIGNING.private_bytes_raw(),
            )
        ],
    ),
    "body": Target(read_a_body, _lines),
    "inside-handout": Target(read_inside_a_handout, lambda: [_inside_a_handout()[2]]),
    "inside-news": Target(read_inside_news, _lines),
    "stream": Target(
        read_a_stream, lambda: [zlib.compress(_first_line() + b"\n" + line) for line in _lines()]
    ),
    "fold": Target(fold_a_body, _lines),
    "certificate": Target(
        read_a_certificate, lambda: [Authority.make("v", NOW).issue(Role.TABLET, "t", NOW).certificate]
    ),
    "address": Target(
        read_an_address, lambda: [b"192.168.43.1:41877 amber-otter-cedar", b"[fe80::1]:41877", b"lead.local"]
    ),
}

# -- mutation ----------------------------------------------------------------------------------------

_WORDS = (
    b"null",
    b"true",
    b"-1",
    b"1e999",
    b"NaN",
    b"99999999999999999999",
    b'"',
    b"{}",
    b"[]",
    b'"\\ud800"',
    b"\xff",
    b"\x00",
    b"[" * 60,
    b'{"a":' * 40,
    b"1@dev",
    b"0@dev",
    b"@",
    b'"child":7',
    b'"body":{}',
    b'"heard":"yes"',
    b'"hz":-1',
    b"\n",
    b"child-corrected",
    b"result-ruled",
    b"readiness-checked",
    b"threshold-found",
    b"watch-raised",
    b"tablet-set-aside",
    b"followup-noted",
)


def mutated(seed: bytes, chance: random.Random) -> bytes:
    """A seed with one to six things done to it."""
    data = bytearray(seed)
    for _ in range(chance.randint(1, 6)):
        place = chance.randrange(len(data) + 1)
        what = chance.randrange(7)
        if what == 0 and data:
            data[place % len(data)] ^= 1 << chance.randrange(8)
        elif what == 1:
            data[place:place] = chance.randbytes(chance.randint(1, 8))
        elif what == 2:
            del data[place : place + chance.randint(1, 16)]
        elif what == 3:
            data[place : place + chance.randint(0, 8)] = chance.choice(_WORDS)
        elif what == 4:
            other = chance.randrange(len(data) + 1)
            data[place:place] = data[other : other + chance.randint(1, 40)]
        elif what == 5:
            del data[place:]
        else:
            # Swap one JSON value for another of some kind, at the next colon.
            colon = data.find(b":", place)
            end = min((at for at in (data.find(sign, colon) for sign in (b",", b"}")) if at > 0), default=-1)
            if 0 < colon < end:
                data[colon + 1 : end] = chance.choice(_WORDS)
    return bytes(data)


def fuzz(name: str, inputs: int, seed: int = 0) -> int:
    """Run a target on its seeds and on ``inputs`` mutations; gives how many were refused in words."""
    target, chance = TARGETS[name], random.Random(f"{name} {seed}")
    seeds, refused = target.seeds(), 0
    for number in range(len(seeds) + inputs):
        data = seeds[number] if number < len(seeds) else mutated(chance.choice(seeds), chance)
        try:
            target.run(data)
        except QuietbellError:
            assert number >= len(seeds) or name == "session", f"{name}: a right input was refused"
            refused += 1
        except BaseException:
            print(f"{name}: input {number} of seed {seed}: {data!r}", file=sys.stderr)
            raise
    return refused
