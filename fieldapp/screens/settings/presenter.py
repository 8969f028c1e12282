"""The tablet's settings as groups of choices, and the pedal's key. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.settings_file import CHOICES

# what else the keyboard says in the tone walk, the threshold test, the audiogram and after a child
# (fieldapp/screens/KEYS.md), and the digits, which are typed
MEANT = frozenset("nprsulm-0123456789") | {"pageup", "backspace", "pause"}


@dataclass(frozen=True, slots=True)
class Group:
    """One setting: its name and (value, word, chosen) of each choice."""

    name: str
    title: str
    choices: tuple[tuple[Any, str, bool], ...]


class SettingsPresenter(Presenter):
    """Every change is kept and shown at once."""

    learning = False

    def enter(self) -> None:
        self.learning = False

    def groups(self) -> list[Group]:
        """All settings with choices."""
        settings = self.session.settings
        return [
            Group(
                name,
                self.t(f"settings.{name}"),
                tuple(
                    (value, self.t(self._key(name, value)), getattr(settings, name) == value)
                    for value in values
                ),
            )
            for name, values in CHOICES.items()
        ]

    def _key(self, name: str, value: Any) -> str:
        return f"settings.{name}_{str(value).replace('.', '_')}"

    def choose(self, name: str, value: Any) -> None:
        """Change one setting."""
        if getattr(self.session.settings, name) != value:
            self.session.change(**{name: value})

    def choose_pin(self) -> None:
        """Choose the screen's PIN, kept in memory only: it is gone when the app is closed."""
        self.session.ask_pin(self.t("pin.choose"), self.t("pin.choose_words"), self._take_pin)

    def _take_pin(self, pin: str) -> None:
        """Typed once; a slip of the finger would lock its owner out, so it is asked for again."""
        if self.guarded(lambda: self.session.screen_lock.judge_pin(pin)):
            t = self.t
            self.session.ask_pin(
                t("pin.again"), t("pin.again_words"), lambda again: self._set_pin(pin, again)
            )

    def _set_pin(self, pin: str, again: str) -> None:
        if again != pin:
            self.session.tell(self.t("pin.differs"), self.t("pin.differs_words"))
        elif self.guarded(lambda: self.session.screen_lock.set_pin(pin)):
            self.session.tell(self.t("pin.chosen"), self.t("pin.chosen_words"))

    def learn(self) -> None:
        """The next key is the pedal's."""
        self.learning = True
        self.changed()

    def take_key(self, name: str) -> None:
        """The pedal was pressed while it was being learned; a key that already means something else is refused."""
        if name in MEANT:
            key = phrases.key_name(self.t, name)
            self.session.tell(self.t("settings.pedal_taken", name=key), self.t("settings.pedal_taken_words"))
            return
        self.learning = False
        self.session.change(pedal=name)

    def pedal(self) -> tuple[str, str]:
        """What the pedal's line and its button say."""
        t = self.t
        button = t("settings.pedal_learn") if self.learning else t("settings.pedal_change")
        return t("settings.pedal_words", name=phrases.key_name(t, self.session.settings.pedal)), button
