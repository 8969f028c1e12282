"""The settings' glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import StringProperty

from fieldapp.screens.settings.presenter import SettingsPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Column
from fieldapp.widgets.press import Press

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class ChoiceLine(Column):
    """One setting with its choices beside each other."""

    title = StringProperty("")


class EveryKey(dict):  # type: ignore[type-arg]
    """While the pedal is learned, every key is the pedal's."""

    def __init__(self, take: Callable[[str], None]) -> None:
        super().__init__()
        self._take = take

    def get(self, name: str, default: Any = None) -> Any:
        if name in ("escape", "tab", ""):
            return default
        return lambda: self._take(name)


class SettingsScreen(Screen):
    """Hand, text, colours, language, lock, pedal."""

    make = SettingsPresenter
    presenter: SettingsPresenter

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        for group in self.presenter.groups():
            line = ChoiceLine(title=group.title)
            for value, word, chosen in group.choices:
                button = Press(text=word, rank="chosen" if chosen else "quiet", bold=chosen)
                button.bind(
                    on_release=lambda _b, name=group.name, value=value: self.presenter.choose(name, value)
                )
                line.ids.choices.add_widget(button)
            self.ids.groups.add_widget(line, index=len(self.ids.groups.children))

    def refresh(self) -> None:
        ids = self.ids
        ids.pedal.text, ids.learn.text = self.presenter.pedal()
        ids.top.pill = self.session.pill()

    def back(self) -> None:
        """Where one came from."""
        self.session.go_back()

    def keys(self) -> dict[str, Callable[[], Any]]:
        if self.presenter.learning:
            return EveryKey(self.presenter.take_key)
        return {"escape": self.back}
