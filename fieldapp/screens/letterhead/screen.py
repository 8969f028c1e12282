"""The letterhead: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.letterhead.presenter import FIELDS, LetterheadPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.field import TextField

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class LetterheadScreen(Screen):
    """Six fields in the upper half."""

    make = LetterheadPresenter
    presenter: LetterheadPresenter

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        self._fields = {}
        for name in FIELDS:
            field = TextField(label=self.session.t(f"letterhead.{name}"), text=self.presenter.fields[name])
            self._fields[name] = field
            self.ids.fields.add_widget(field)

    def refresh(self) -> None:
        self.ids.top.pill = self.session.pill()

    def keep(self) -> None:
        """The button."""
        self.presenter.keep({name: field.text for name, field in self._fields.items()})

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": self.presenter.go_back}
