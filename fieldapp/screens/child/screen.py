"""One child's page: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.gridlayout import GridLayout

from fieldapp.screens.child.page import TestTable
from fieldapp.screens.child.presenter import ChildPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Column
from fieldapp.widgets.dates import DatePlate
from fieldapp.widgets.press import PressBox
from fieldapp.widgets.words import OneLine, Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class FieldRow(PressBox):
    """A field of the child's data; pressing it corrects it."""

    label = StringProperty("")
    value = StringProperty("")
    before = StringProperty("")


class ChildScreen(Screen):
    """Where the child stands and its data on one side, what was done on the other."""

    make = ChildPresenter
    presenter: ChildPresenter

    def __init__(self, session: Any, **options: Any) -> None:
        super().__init__(session, **options)
        self._decide, self._step = self.ids.decide.__self__, self.ids.step.__self__  # held while not offered

    def refresh(self) -> None:
        view, ids = self.presenter.view(), self.ids
        ids.top.title, ids.top.about, ids.top.pill = view.title, view.about, self.session.pill()
        ids.status.text = view.status
        ids.stands.text = "\n".join(view.stands)
        ids.doubts.text = "\n".join(question for _id, question in view.doubts)
        for button, offered in ((self._decide, bool(view.doubts)), (self._step, view.has_steps)):
            if offered != (button.parent is not None):
                (ids.ways.add_widget if offered else ids.ways.remove_widget)(button)
        ids.fields.clear_widgets()
        for line in view.fields:
            row = FieldRow(label=line.label, value=line.value, before=line.before)
            row.bind(on_release=lambda _r, field=line.field: self.correct(field))
            ids.fields.add_widget(row)
        ids.done.clear_widgets()
        for table in view.tests:
            ids.done.add_widget(self._table(table))
        for heading, lines in view.sections:
            part = Column()
            part.add_widget(Words(text=heading, weight=True))
            for words in lines:
                part.add_widget(Words(text=words))
            ids.done.add_widget(part)

    def _table(self, table: TestTable) -> Column:
        look = App.get_running_app().look
        part = Column()
        part.add_widget(Words(text=table.heading, weight=True))
        part.add_widget(Words(text=table.about, tone="soft", font_size=look.small))
        if table.rows:
            grid = GridLayout(cols=len(table.heads) + 1, spacing=look.seam, size_hint_y=None)
            grid.bind(minimum_height=grid.setter("height"))
            size = look.body if look.roomy else look.small  # a low screen has no room for more
            side = {"size_hint_x": None, "width": look.small * (6 if look.roomy else 4)}
            grid.add_widget(OneLine(text="Hz", tone="soft", font_size=look.small, **side))
            for head in table.heads:
                grid.add_widget(OneLine(text=head, tone="soft", font_size=look.small))
            for ear, word, cells in table.rows:
                word = word if look.roomy else self.session.t(f"ear.{ear}_short")
                grid.add_widget(
                    OneLine(text=word, tone=ear, weight=True, size_hint_y=1, font_size=size, **side)
                )
                for cell in cells:
                    grid.add_widget(Words(text=cell or " ", font_size=size))
            part.add_widget(grid)
        if table.note:
            part.add_widget(Words(text=table.note, tone="soft", font_size=look.small))
        return part

    def correct(self, field: str) -> None:
        """A birth date is chosen, everything else is typed."""
        if field != "born":
            self.presenter.correct(field)
            return
        t = self.session.t
        title = t("child_page.correct", field=t("child_page.born"))
        plate = DatePlate(title, t("child_page.keep"), self.presenter.took_born)
        months = [t(f"month.{n}") for n in range(1, 13)]
        plate.picker.offer(self.presenter.years(), months, self.presenter.standing.person.born)
        self.session.lay(plate)

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": self.presenter.go_back}
