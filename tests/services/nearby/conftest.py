"""A desk that listens on loopback and stations that send to it, all in one process."""

from __future__ import annotations

import threading
from contextlib import contextmanager

import pytest

from fieldapp.services.nearby import Listener, Sender
from sync.nearby.line import Patience

QUICK = Patience(handshake=2.0, idle=3.0, message=8.0)


class Room:
    """Works the listener off on this thread while senders run on theirs, one each."""

    def __init__(self, desk, patience=QUICK) -> None:
        self.told = []
        self.patience = patience
        self.listener = Listener(desk, address="127.0.0.1", port=0, tell=self.told.append, patience=patience)
        self.listener.start()

    @property
    def address(self):
        return self.listener.addresses[0]

    def work_until(self, over) -> None:
        while not over():
            self.listener.work(0.05)
        while self.listener.work(0.1):
            pass

    def send(self, *stations, **more):
        """Let stations send at the same time; gives what came of each: a ``Sent`` or the error."""
        came = [None] * len(stations)

        def run(place, station) -> None:
            try:
                sender = Sender(
                    station, str(self.address), **{"patience": self.patience, "attempts": 1, **more}
                )
                came[place] = sender.run()
            except Exception as error:
                came[place] = error

        threads = [threading.Thread(target=run, args=pair) for pair in enumerate(stations)]
        for thread in threads:
            thread.start()
        self.work_until(lambda: not any(thread.is_alive() for thread in threads))
        return came


@pytest.fixture
def room():
    """Opens rooms, and closes them at the end."""
    open_rooms = []

    @contextmanager
    def open_room(desk, **more):
        room = Room(desk, **more)
        open_rooms.append(room)
        try:
            yield room
        finally:
            room.listener.close()

    return open_room
