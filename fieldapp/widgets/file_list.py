"""The files to choose from: the folder, a way up, and a line for each folder and file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.widgets.rows import Tile
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("file_list.kv")))


class FileList(BoxLayout):
    """Shows what a ``FileChoice`` presenter offers, and hands it what was pressed."""

    choice = ObjectProperty(None, allownone=True)
    words = StringProperty("")

    def show(self, words: str, nothing: str = "") -> None:
        """Show the folder anew; ``nothing`` is said where it holds no file of the kind."""
        self.words = words
        files = self.ids.files
        files.clear_widgets()
        offered = self.choice.files()
        for found in offered:
            tile = Tile(name=found.name, count=self.choice.sign(found), chosen=self.choice.is_chosen(found))
            tile.bind(on_release=lambda _t, found=found: self.choice.choose(found))
            files.add_widget(tile)
        if nothing and not any(not found.folder for found in offered):
            files.add_widget(Words(text=nothing, tone="soft"))

    def up(self, *_ignored: Any) -> None:
        """The folder around this one."""
        self.choice.up()
