"""Gathers over the local network: where this device listens, its check phrase, and what each tablet sends. No Kivy."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter

TICK_SECONDS = 0.05
TICKS_A_LOOK = 5  # between two looks whether something new is to be shown
TICKS_A_NETWORK = 40  # and whether the network is another: a hotspot may be switched on only now
WORDS = {"sending": "sending", "broken off": "broken"}


@dataclass(frozen=True, slots=True)
class ListenView:
    """``sum`` says how many have sent everything while this screen is shown; ``tablets`` are (name, words)."""

    address: str
    others: str
    phrase: str
    sum: str
    tablets: tuple[tuple[str, str], ...]


class ListenPresenter(Presenter):
    """Listens as long as the screen is shown."""

    def enter(self) -> None:
        self._listener: Any = None
        self._addresses: tuple[Any, ...] = ()
        self._qr: tuple[tuple[bool, ...], ...] = ()
        self._call_off: Callable[[], None] = lambda: None
        self._turned_away = ""
        self._news = False
        self._ticks = 0
        self._before = dict(self._waited_for())
        listener = self.session.listener(self.session.desk, tell=self._heard)
        if not self.guarded(listener.start):
            return
        self._listener = listener
        self._look_at_network()
        self._call_off = self.session.every(TICK_SECONDS, self._tick)

    def _tick(self) -> None:
        listener = self._listener
        listener.work()
        self._ticks += 1
        if self._ticks % TICKS_A_NETWORK == 0:
            self._look_at_network()
        if self._news and self._ticks % TICKS_A_LOOK == 0:
            self._news = False
            self.changed()

    def _look_at_network(self) -> None:
        """Under which addresses tablets reach this device now."""
        addresses = self._listener.addresses
        if addresses != self._addresses:
            self._addresses, self._qr, self._news = addresses, tuple(self._listener.qr()), True

    def _waited_for(self) -> Iterator[tuple[str, str]]:
        """(name, words) of every tablet that is not set aside: what came of it before this screen was opened. That
        it was whole then does not say that it is now."""
        t, desk = self.t, self.session.desk
        aside = {state.name for state in desk.closing.tablets() if state.aside}
        today = self.session.clock().date()
        for device in desk.devices():
            if device.name in aside:
                continue
            if not device.device:
                yield device.name, t("listen.silent")
                continue
            day = phrases.near_date(t, device.gathered_at, today)
            yield device.name, t("listen.before", day=day, time=phrases.clock_time(t, device.gathered_at))

    def leave(self) -> None:
        self._call_off()
        if self._listener is not None:
            listener, self._listener = self._listener, None
            listener.close()

    def _heard(self, one: Any) -> None:
        self.session.screen_lock.touch()  # a tablet that sends is work going on
        if not one.device and one.problem is not None:
            self._turned_away = self.t.sentence(one.problem.happened)
        self._news = True

    def qr(self) -> tuple[tuple[bool, ...], ...]:
        """The QR code of the address and the phrase, dark modules true; empty without a network."""
        return self._qr

    def view(self) -> ListenView:
        """The screen as it stands."""
        t = self.t
        heard = self._listener.heard if self._listener is not None else []
        rows = [(one.tablet, self._words(one)) for one in heard]
        called = {one.tablet for one in heard}
        rows += [(name, words) for name, words in self._before.items() if name not in called]
        whole = self._whole(heard)
        # Whoever is still waited for stands first: on a low screen the others are below.
        rows.sort(key=lambda row: (row[0] in whole, row))
        tablets = [(phrases.tablet(t, name), words) for name, words in rows]
        if self._turned_away:
            tablets.append((t("listen.turned_away"), self._turned_away))
        total = len({name for name, _ in rows})
        key = "listen.all_in" if len(whole) == total else "listen.in"
        told = t.counted(key, len(whole), total=total) if total else ""
        if not self._addresses:
            return ListenView(t("listen.no_network"), t("listen.no_network_words"), "", told, tuple(tablets))
        first, *rest = self._addresses
        return ListenView(
            first.to_type,
            " · ".join(other.to_type for other in rest),
            self._listener.phrase.replace("-", " "),
            told,
            tuple(tablets),
        )

    @staticmethod
    def _whole(heard: list[Any]) -> set[str]:
        """The tablets that have sent everything while this screen is shown."""
        partly = {one.tablet for one in heard if one.state != "done" or one.held < one.highest}
        return {one.tablet for one in heard} - partly

    def _words(self, one: Any) -> str:
        t = self.t
        key = WORDS.get(one.state) or ("done" if one.held >= one.highest else "partly")
        words = t(f"listen.{key}", held=one.held, highest=one.highest, new=one.new)
        if one.problem is None:
            return words
        return f"{words}. {t.sentence(one.problem.happened)} {t.sentence(one.problem.todo)}".strip()
