"""The door: takes callers one by one, gives each a thread, and keeps strangers from blocking it. No TLS here."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence

from sync.nearby.troubles import busy

# Whoever has not yet shown a certificate waits at the door. When too many wait, the longest waiting is shown out: a
# true tablet needs a moment only, and a crowd that says nothing cannot keep it out. Those inside are never disturbed.
MOST_WAITING = 64
MOST_WAITING_FROM_ONE = 16
MOST_INSIDE = 32
MOST_CALLERS = 128  # with those who have been shown out and are not gone yet
MOST_OF_ONE_TABLET = 2  # a line that has gone dead, and the one that took its place
_GRACE = 3.0  # seconds to say goodbye in


class Caller:
    """One connection: its thread, its address, and a grip on it by which it can be shown out."""

    def __init__(self, connected: socket.socket, host: str) -> None:
        self.connected = connected
        self.host = host
        self.inside = ""  # the tablet's id, once it has shown its certificate
        self.leaving = False
        self._grip = connected.dup()

    def show_out(self) -> None:
        """End the connection under whoever is reading from it."""
        self.leaving = True
        with contextlib.suppress(OSError):
            self._grip.shutdown(socket.SHUT_RDWR)

    def gone(self) -> None:
        """Let go of the connection."""
        self._grip.close()


class Door:
    """Listens on a bound socket until it is closed; ``hear`` talks with one caller on a thread of its own, and says
    which tablet it is as soon as the caller has shown its certificate."""

    def __init__(
        self, listening: socket.socket, hear: Callable[[socket.socket, Callable[[str], None]], None]
    ) -> None:
        self._listening = listening
        self.port: int = listening.getsockname()[1]
        self._hear = hear
        self._callers: dict[Caller, threading.Thread] = {}
        self._lock = threading.Lock()
        self._open = True
        self._keeper = threading.Thread(target=self._keep, name="door", daemon=True)
        self._keeper.start()

    def close(self) -> None:
        """Let nobody in any more; whoever has not left after a moment is shown out."""
        self._open = False
        with contextlib.suppress(OSError):
            self._listening.shutdown(socket.SHUT_RDWR)
        self._listening.close()
        self._keeper.join()
        with self._lock:
            callers = dict(self._callers)
        for caller in callers:
            if not caller.inside:
                caller.show_out()
        until = time.monotonic() + _GRACE
        for thread in callers.values():
            thread.join(max(0.0, until - time.monotonic()))
        for caller, thread in callers.items():
            caller.show_out()
            thread.join()

    def _keep(self) -> None:
        while self._open:
            try:
                connected, address = self._listening.accept()
            except OSError:
                if self._open:
                    time.sleep(0.05)  # out of file handles, say: callers wait in the system's own line
                continue
            try:
                self._let_wait(Caller(connected, str(address[0])))
            except (OSError, RuntimeError):  # no handle or no thread to be had: this caller may call again
                connected.close()

    def _let_wait(self, caller: Caller) -> None:
        with self._lock:
            if len(self._callers) >= MOST_CALLERS:
                caller.connected.close()
                caller.gone()
                return
            waiting = [each for each in self._callers if not each.inside and not each.leaving]
            same = [each for each in waiting if each.host == caller.host]
            if len(same) >= MOST_WAITING_FROM_ONE:
                same[0].show_out()
            elif len(waiting) >= MOST_WAITING:
                self._longest_of_the_crowd(waiting).show_out()
            thread = threading.Thread(target=self._hear_out, args=(caller,), name="talk", daemon=True)
            thread.start()
            self._callers[caller] = thread

    @staticmethod
    def _longest_of_the_crowd(waiting: Sequence[Caller]) -> Caller:
        """The longest waiting from the address that most wait from: a tablet alone at its address is not pushed out
        by those who come in numbers."""
        numbers = Counter(each.host for each in waiting)
        return max(waiting, key=lambda each: numbers[each.host])

    def _let_in(self, caller: Caller, tablet: str) -> None:
        with self._lock:
            inside = [each for each in self._callers if each.inside and not each.leaving]
            same = [each for each in inside if each.inside == tablet]
            full = len(inside) >= MOST_INSIDE
            if not self._open or (full and not same):
                raise busy()
            caller.inside = tablet
            if full or len(same) >= MOST_OF_ONE_TABLET:
                same[0].show_out()

    def _hear_out(self, caller: Caller) -> None:
        try:
            self._hear(caller.connected, lambda tablet: self._let_in(caller, tablet))
        finally:
            caller.connected.close()
            caller.gone()
            with self._lock:
                del self._callers[caller]
