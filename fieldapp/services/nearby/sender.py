"""The sender: a tablet's store on its way to the lead over the local network. One thread talks; the store's jobs are
done by the thread that calls ``work`` or ``run``."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace

from fieldapp.services.nearby.address import Address
from fieldapp.services.nearby.bench import Bench
from fieldapp.services.nearby.store import TalkStore
from fieldapp.services.station import Station
from shared.errors import QuietbellError
from sync.handout import unpack_certificate, unpack_key
from sync.nearby.authority import Identity, Role
from sync.nearby.holdings import Holdings
from sync.nearby.line import Patience, call, context_for
from sync.nearby.phrase import check_phrase
from sync.nearby.tablet import send_to_lead
from sync.nearby.troubles import Code, Cut, Told, another_visit, but_all_is_there, stopped, unforeseen


@dataclass(frozen=True, slots=True)
class Sending:
    """How far it is. ``stage`` is ``calling``, ``comparing``, ``sending`` or ``receiving``; ``sent`` of ``total``
    entries are acknowledged by the lead, ``told`` entries of others have come back; ``attempt`` counts from 1."""

    stage: str = "calling"
    sent: int = 0
    total: int = 0
    told: int = 0
    attempt: int = 1


@dataclass(frozen=True, slots=True)
class Sent:
    """It is done: ``sent`` entries were acknowledged, ``new`` of them new to the lead; the lead's book now holds
    ``held`` of this tablet's own ``highest`` entries; ``told`` entries of others were new to this tablet."""

    sent: int
    new: int
    held: int
    highest: int
    told: int

    @property
    def complete(self) -> bool:
        """Whether the lead holds everything that this tablet had written when it called."""
        return self.held >= self.highest


class Sender:
    """``run`` from a worker thread or a command; or ``start``, then ``work`` at every tick until it is False, then
    ``result``. The station may be used between two calls of ``work``, never during one."""

    def __init__(
        self,
        station: Station,
        address: Address | str,
        *,
        attempts: int = 3,
        patience: Patience | None = None,
        tell: Callable[[Sending], None] | None = None,
    ) -> None:
        self._station = station
        self._address = Address.parse(address) if isinstance(address, str) else address
        self._attempts = attempts
        self._patience = patience or Patience()
        self._bench = Bench(self._patience.message)
        self._tell = tell or (lambda _sending: None)
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None
        self._sent: Sent | None = None
        self._problem: QuietbellError | None = None
        self.sending = Sending()
        about = station.ledger.about
        authority = unpack_certificate(about.get("authority"))
        self.phrase = check_phrase(authority)
        if self._address.phrase and self._address.phrase != self.phrase:
            raise another_visit()
        identity = Identity(
            unpack_certificate(about.get("certificate")), unpack_key(about.get("certificate_key"))
        )
        self._context = context_for(Role.TABLET, authority, identity)
        self._holdings = Holdings()
        self._acknowledged = self._new = self._told = 0
        self._brought = self._reached = False

    # -- for the owner's thread ------------------------------------------------------------------

    def run(self, tell: Callable[[Sending], None] | None = None) -> Sent:
        """All of it, on this thread. Raises the ``QuietbellError`` that stopped it; what was acknowledged is safe."""
        if tell is not None:
            self._tell = tell
        self.start()
        try:
            while self.work(0.5):
                pass
        except BaseException:
            self.stop()
            raise
        return self.result()

    def start(self) -> None:
        """Begin on a thread of its own."""
        self._thread = threading.Thread(target=self._go, name="send", daemon=True)
        self._thread.start()

    def work(self, seconds: float = 0.0) -> bool:
        """Do what the talk asks of the store, as ``Listener.work`` does; gives whether it is still going on."""
        self._bench.work(seconds)
        return self._thread is not None and self._thread.is_alive()

    def result(self) -> Sent:
        """What came of it, once ``work`` has said that it is over; raises what stopped it."""
        self._bench.work()
        if self._problem is not None:
            raise self._problem
        if self._sent is None:
            raise stopped()
        return self._sent

    def stop(self) -> None:
        """Break off; what was acknowledged is safe. Does not wait: ``work`` says when it is over."""
        self._stopping.set()
        self._bench.close()

    # -- for the thread that talks ---------------------------------------------------------------

    def _go(self) -> None:
        try:
            self._sent = self._try_again_and_again()
        except QuietbellError as problem:
            self._problem = but_all_is_there(problem) if self._brought else problem
        except Exception as error:
            self._problem = unforeseen(error)
        finally:
            self._bench.leave(lambda: None)  # wakes whoever waits in ``work``

    def _try_again_and_again(self) -> Sent:
        """Call; after a cut go on where it stopped, until ``attempts`` calls in a row brought nothing either way.

        Where the lead was reached before, the network may need some seconds to come back: then some more.
        """
        fruitless = attempt = 0
        while True:
            attempt += 1
            self._say(stage="calling", attempt=attempt)
            before = (self._acknowledged, self._told)
            try:
                return self._talk()
            except (Cut, Told) as problem:
                if isinstance(problem, Told) and problem.code is not Code.BUSY:
                    raise
                fruitless = 0 if (self._acknowledged, self._told) != before else fruitless + 1
                most = 2 * self._attempts - 1 if self._reached else self._attempts
                if fruitless >= most and not self._stopping.is_set():
                    raise
            if self._stopping.wait(min(0.25 * 2**fruitless, 8.0)):
                raise stopped()

    def _talk(self) -> Sent:
        now = self._station.ledger.clock.now()
        host, port = self._address.host, self._address.port
        line = call(host, port, self._context, self._patience, now, self._stopping.is_set)
        with closing(line):
            self._reached = True
            if self._stopping.is_set():
                raise stopped()
            store = TalkStore(self._station, self._bench, self._holdings, self._say, self._acknowledged)
            try:
                held = send_to_lead(line, store).held
            finally:
                self._brought |= store.brought
                self._acknowledged, self._new, self._told = (
                    store.acknowledged_entries,
                    self._new + store.new,
                    self._told + store.told,
                )
        return Sent(self._acknowledged, self._new, held, store.highest, self._told)

    def _say(self, **news: object) -> None:
        self.sending = after = replace(self.sending, **news)  # type: ignore[arg-type]
        self._bench.leave(lambda: self._tell(after))
