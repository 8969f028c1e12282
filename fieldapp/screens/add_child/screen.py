"""Adding a child: the glue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import StringProperty

from fieldapp.screens.add_child.presenter import AddChildPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.dates import DatePlate
from fieldapp.widgets.press import Press, PressBox
from fieldapp.widgets.sheet import Plate

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class AlikeRow(PressBox):
    """A child on the list who looks like the one being added."""

    name = StringProperty("")
    about = StringProperty("")


class ClassPlate(Plate):
    """Choosing the class, over the screen: ``classes`` is name -> words, ``act`` gets the name."""

    def __init__(
        self, title: str, classes: Mapping[str, str], chosen: str | None, act: Callable[[str], Any]
    ) -> None:
        super().__init__(title)
        for name, words in classes.items():
            key = Press(text=words, rank="chosen" if name == chosen else "quiet")
            key.bind(on_release=lambda _key, name=name: self._take(name))
            self.ids.classes.add_widget(key)
        self._act = act

    def _take(self, name: str) -> None:
        self.close()
        self._act(name)


class AddChildScreen(Screen):
    """Names above, look-alikes beside them."""

    make = AddChildPresenter
    presenter: AddChildPresenter

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        self.ids.family.text = self.presenter.family
        (self.ids.given if self.presenter.family else self.ids.family).take_focus()

    def refresh(self) -> None:
        from fieldapp.screens import phrases

        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.pill = self.session.pill()
        ids.born.text = phrases.short_date(t, act.born) or t("add_child.unknown")
        ids.class_name.text = act.class_name or t("add_child.unknown")
        ids.add.disabled = not act.complete
        plain = t("add_child.add") if act.screens_at_once else t("add_child.add_only")
        ids.add.text = t("add_child.add_anyway") if act.alike else plain
        ids.add.rank = "strong" if act.alike else "accent"
        ids.title.text = t("add_child.alike") if act.alike else ""
        ids.words.text = (
            t("add_child.alike_words")
            if act.alike
            else t("add_child.none_alike" if act.complete else "add_child.names_first")
        )
        ids.alike.clear_widgets()
        for alike in act.alike[:3]:
            row = AlikeRow(name=alike.name, about=alike.about)
            row.bind(on_release=lambda _r, child=alike.child: act.choose(child))
            ids.alike.add_widget(row)

    def choose_born(self) -> None:
        """Open the date picker."""
        act, t = self.presenter, self.session.t
        plate = DatePlate(act.about("born"), t("add_child.take_born"), lambda iso: act.set(born=iso))
        plate.picker.offer(act.years(), [t(f"month.{n}") for n in range(1, 13)], act.born)
        self.session.lay(plate)

    def choose_class(self) -> None:
        """Open the classes."""
        act = self.presenter
        classes = {name: name for name in act.classes()}
        plate = ClassPlate(act.about("class"), classes, act.class_name, lambda name: act.set(class_name=name))
        self.session.lay(plate)

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("next_child")}
