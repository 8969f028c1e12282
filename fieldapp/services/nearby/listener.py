"""The listener: the lead's visit book open to its tablets on the local network. Threads, doors and the book's jobs.

The door takes callers, a thread each talks, and every job on the book is done by the thread that calls ``work``.
"""

from __future__ import annotations

import os
import socket
import threading
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass, replace

from fieldapp.services.desk import Desk
from fieldapp.services.gathering import Gathering
from fieldapp.services.nearby.address import PORT, Address, own_hosts, qr_matrix
from fieldapp.services.nearby.bench import Bench
from fieldapp.services.nearby.book import OpenBook, TalkBook
from fieldapp.services.nearby.door import Door
from shared.errors import QuietbellError, Refused, WriteRefused
from sync.nearby.authority import Role, holder_of
from sync.nearby.lead import hear_tablet, turn_away
from sync.nearby.line import Patience, answer, context_for
from sync.nearby.phrase import check_phrase
from sync.nearby.troubles import stopped, unforeseen


@dataclass(frozen=True, slots=True)
class TabletHeard:
    """One tablet as the lead's screen shows it. ``state`` is ``sending``, ``done`` or ``broken off``.

    ``new`` and ``known`` count its entries in this listening; ``held`` of its own ``highest`` entries are in the
    book; ``told`` counts what it was sent back. ``problem`` says why a talk was broken off. ``tablet`` is empty for
    a caller that was turned away before it could say who it is.
    """

    tablet: str
    device: str
    state: str
    new: int = 0
    known: int = 0
    held: int = 0
    highest: int = 0
    told: int = 0
    problem: QuietbellError | None = None


class Listener:
    """``start``, then ``work`` again and again on the thread that owns the desk, then ``close``.

    ``tell`` is called, on that same thread, whenever something about a tablet has changed.
    """

    def __init__(
        self,
        desk: Desk,
        *,
        address: str = "",
        port: int = PORT,
        tell: Callable[[TabletHeard], None] | None = None,
        patience: Patience | None = None,
    ) -> None:
        self._desk = desk
        self._patience = patience or Patience()
        self._bench = Bench(self._patience.message)
        self._tell = tell or (lambda _heard: None)
        self._heard: dict[str, TabletHeard] = {}
        self._lock = threading.Lock()
        self._closing = threading.Event()
        self._door: Door | None = None
        #: Callers that were turned away before they could say which tablet they are. ``tell`` hears of the first of
        #: each kind only: a crowd at the door must not fill the lead's screen.
        self.turned_away = 0
        self._kinds_of_trouble: set[str] = set()
        self._wanted = (address, port)
        authority = desk.authority
        identity = authority.issue(Role.LEAD, desk.ledger.device, desk.ledger.clock.now())
        self._context = context_for(Role.LEAD, authority.certificate, identity)
        self.phrase = check_phrase(authority.certificate)
        self._book = OpenBook(desk, self._bench, self._note)

    # -- for the owner's thread ------------------------------------------------------------------

    def start(self) -> None:
        """Open the door; raises ``Refused`` where the address or the port cannot be had."""
        host, port = self._wanted
        self._book.up_to_date()  # now, and not when the first tablet calls: then the screen is in use
        self._door = Door(_bound(host, port), self._hear)

    @property
    def addresses(self) -> tuple[Address, ...]:
        """Where tablets can reach this device, likeliest first; none without a network or before ``start``."""
        if self._door is None:
            return ()
        host = self._wanted[0]
        hosts = own_hosts() if host in ("", "0.0.0.0", "::") else [host]
        return tuple(Address(each, self._door.port, self.phrase) for each in hosts)

    @property
    def port(self) -> int:
        """The port it listens on, 0 before ``start``."""
        return self._door.port if self._door is not None else 0

    def qr(self) -> tuple[tuple[bool, ...], ...]:
        """The QR code of the likeliest address and the check phrase, as rows of modules, dark ones true; empty where
        there is no address."""
        addresses = self.addresses
        return qr_matrix(addresses[0].qr_text) if addresses else ()

    @property
    def heard(self) -> list[TabletHeard]:
        """Every tablet that has called, by name."""
        with self._lock:
            return sorted(self._heard.values(), key=lambda each: (each.tablet, each.device))

    def work(self, seconds: float = 0.0) -> bool:
        """Do what the talks ask of the book: wait up to ``seconds`` for something, then go on for about 50 ms.

        Gives whether anything was done. A screen calls it with 0 some twenty times a second, a command in a loop.
        """
        return self._bench.work(seconds)

    def close(self) -> Gathering:
        """Close the door, end the talks, join what is now known to be one child; gives what the book holds."""
        self._closing.set()
        self._bench.close()
        if self._door is not None:
            self._door.close()
        self._bench.close()  # what the talks said last
        for heard in self.heard:
            if heard.state == "sending":
                self._note(heard.device, state="broken off", problem=stopped())
        if self._heard:
            # Whatever came in this time or before a listening that was killed; where the disk is full, the next one.
            with suppress(WriteRefused):
                self._desk.join_automatically()
        return self._desk.summary()

    # -- for the threads that talk ---------------------------------------------------------------

    def _hear(self, plain: socket.socket, let_in: Callable[[str], None]) -> None:
        """One caller, from the handshake to the end."""
        view = self._book.view()
        try:
            now = self._desk.ledger.clock.now()
            line = answer(plain, self._context, self._patience, now, self._closing.is_set)
            with closing(line):
                holder = holder_of(line.peer_certificate)
                try:
                    let_in(holder.id)
                except QuietbellError as full:
                    turn_away(line, full)
                    raise
                hear_tablet(line, holder, view)
            self._bench.leave(lambda: self._over(view, state="done"))
        except QuietbellError as problem:
            self._broken_off(view, problem)
        except Exception as error:
            self._broken_off(view, unforeseen(error))

    def _broken_off(self, view: TalkBook, problem: QuietbellError) -> None:
        if view.device:
            self._bench.leave(lambda: self._over(view, state="broken off", problem=problem))
            return
        with self._lock:
            self.turned_away += 1
            known = problem.happened in self._kinds_of_trouble
            self._kinds_of_trouble.add(problem.happened)
        if not known:
            self._bench.leave(lambda: self._tell(TabletHeard("", "", "broken off", problem=problem)))

    def _over(self, view: TalkBook, **news: object) -> None:
        if self._book.newest.get(view.device) is view:
            self._note(view.device, **news)

    def _note(self, device: str, **news: object) -> None:
        """Remember something about a device, and tell; on the owner's thread."""
        with self._lock:
            before = self._heard.get(device) or TabletHeard("", device, "sending")
            if news.get("state") == "sending":
                before = replace(before, problem=None)
            after = self._heard[device] = replace(before, **news)  # type: ignore[arg-type]
        self._tell(after)


def _bound(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    try:
        if os.name != "nt":  # there it would let another program take the port over
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        # Looked up first: only so the network of a link-local address (fe80::1%wlan0) is not forgotten.
        where = socket.getaddrinfo(host, port, family, socket.SOCK_STREAM)[0][4] if host else (host, port)
        listening.bind(where)
        listening.listen(64)
    except (OSError, OverflowError, UnicodeError) as error:
        listening.close()
        reason = (getattr(error, "strerror", "") or "not possible").lower()
        raise Refused(
            f"This device cannot listen there ({reason}).",
            kept="The book was not changed.",
            todo="Close what else listens there, or choose another port (--port) or address (--address).",
        ) from None
    return listening
