"""The bench: jobs for the one thread that owns a store, asked for by the threads that talk. Only that lives here.

A vault belongs to one thread. Threads that talk over the network lay their jobs on the bench and wait; whoever owns
the store works them off with ``work``: a command in a loop, a screen a little at every tick of its clock.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable
from concurrent.futures import CancelledError, Future
from typing import Any, TypeVar

from sync.nearby.troubles import busy, stopped

T = TypeVar("T")


class Bench:
    """A line of jobs. Each waiting thread has at most one, so the line is never longer than there are talks."""

    def __init__(self, patience: float) -> None:
        self.patience = patience
        self._jobs: queue.Queue[tuple[Future[Any] | None, Callable[[], Any]]] = queue.Queue()
        self._closed = False
        self._lock = threading.Lock()

    def do(self, job: Callable[[], T]) -> T:
        """Have the owner do it, and wait. Raises what the job raises; ``Stopped`` where the bench has closed, and
        ``Refused`` where the owner does not come to it in time."""
        future: Future[T] = Future()
        with self._lock:
            if self._closed:
                raise stopped()
            self._jobs.put((future, job))
        try:
            return future.result(self.patience)
        except CancelledError:
            raise stopped() from None
        except TimeoutError:
            if future.done():
                return future.result()
            if future.cancel():
                raise busy() from None
        # It has begun: what it does may become durable, so it must be waited for.
        return future.result()

    def leave(self, job: Callable[[], None]) -> None:
        """Have the owner do it some time; nobody waits, and what it raises is the owner's."""
        self._jobs.put((None, job))

    def work(self, seconds: float = 0.0, *, most: float = 0.05) -> bool:
        """Do what waits: wait up to ``seconds`` for a first job, then go on for about ``most`` seconds.

        Gives whether anything was done. Only ever called by the thread that owns the store.
        """
        until = time.monotonic() + most
        done = False
        while True:
            try:
                future, job = (
                    self._jobs.get(timeout=seconds) if seconds > 0 and not done else self._jobs.get_nowait()
                )
            except queue.Empty:
                return done
            if future is None:
                job()
            elif future.set_running_or_notify_cancel():
                try:
                    future.set_result(job())
                except Exception as error:
                    future.set_exception(error)
                except BaseException:
                    future.set_exception(stopped())  # Ctrl-C, say: the owner's, not the talk's
                    raise
            done = True
            if time.monotonic() > until:
                return done

    def close(self) -> None:
        """Send everybody away who still waits, and do what was only left here. By the owner; as often as wanted."""
        with self._lock:
            self._closed = True
        while True:
            try:
                future, job = self._jobs.get_nowait()
            except queue.Empty:
                return
            if future is None:
                job()
            else:
                future.cancel()
