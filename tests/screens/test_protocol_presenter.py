"""The protocol screen's presenter without a window: seeing, copying, changing, refusing, keeping, deleting."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fieldapp.screens.prepare.presenter import KEPT, PreparePresenter
from fieldapp.screens.protocol.presenter import SOURCE, ProtocolPresenter
from fieldapp.screens.session import Session
from fieldapp.screens.settings_file import Settings
from fieldapp.services.presets import preset, preset_names


class Lead:
    """A session without a store whose sheets and ways are written down; going to the protocol screen opens it."""

    def __init__(self, folder: Path, language: str = "en") -> None:
        self.session = Session(
            opener=lambda *_: None,
            store_path=str(folder / "new.book"),
            settings=Settings(language=language),
            settings_path=folder / "app" / "settings.json",
        )
        self.told: list[tuple[str, str]] = []
        self.typed: list[Any] = []
        self.asked: list[Any] = []
        self.went: tuple[str, dict[str, Any]] = ("", {})
        self.session.go = self._go
        self.session.tell = lambda title, words: self.told.append((title, words))
        self.session.ask = lambda *words: self.asked.append(words)
        self.session.ask_text = lambda *words, **more: self.typed.append((words, more))
        self.session.ask_many = lambda *words: self.asked.append(words)

    def _go(self, name: str, **more: Any) -> None:
        self.went = (name, more)
        if name == "protocol":
            self.act = ProtocolPresenter(self.session)
            self.act.enter(**more)

    def see(self, name: str, **visit: Any) -> ProtocolPresenter:
        self._go("protocol", protocol=name, visit=visit or None)
        return self.act

    def copied(self, name: str, title: str = "Ours") -> ProtocolPresenter:
        self.see(name).copy()
        self.typed[-1][0][3](title)
        return self.act

    def press(self, text: str, line: str = "") -> None:
        for each in self.act.card().lines:
            for key in each.keys:
                if key.text == text and each.label.startswith(line):
                    self.act.do(key)
                    return
        raise AssertionError(f"no key {text!r}: {self.act.card().lines}")

    def row(self, field: str) -> Any:
        return next(row for row in self.act.rows() if row.field == field)


@pytest.fixture
def lead(tmp_path: Path) -> Lead:
    return Lead(tmp_path)


def test_a_spanish_screen_says_where_a_protocol_is_from_in_spanish(tmp_path: Path) -> None:
    lead = Lead(tmp_path, "es")
    said = " ".join(words for words, _soft in lead.see("arizona-r9-13").card().paragraphs)
    assert "Arizona Administrative Code" in said and "(el sitio de una facultad de derecho)" in said
    assert lead.see("asha-1997").title()[0].endswith("(de 5 a 18 años)")


@pytest.mark.parametrize("name", preset_names())
def test_all_of_a_preset_is_shown_with_its_marks(lead: Lead, name: str) -> None:
    act, protocol = lead.see(name), preset(name)
    card = act.card()
    said = " ".join(words for words, _soft in card.paragraphs)
    assert protocol.source in said and all(caution in said for caution in protocol.cautions)
    assert "Source looked at on 25 Nov 2026." in said
    assert "Nobody has compared this protocol with the rule in force yet" in said
    shown = {row.field: row.mark for row in act.rows()}
    names = {"read": "read in the source", "set locally": "not in the source"}  # nobody here set it
    for field in shown.keys() - {SOURCE}:
        mark = protocol.marks.get(field, "")
        assert shown[field] == names.get(mark, mark) or (not mark and shown[field] == "without a mark")
    assert act.card().lines == (), "a preset cannot be changed itself"


def test_a_changed_level_is_marked_and_says_what_it_was(lead: Lead) -> None:
    act = lead.copied("aaa-2011")
    assert lead.went[1]["draft"] is act.draft, "a window that is turned keeps the draft"
    act.choose("levels")
    lead.press("+", "4000 Hz")
    assert lead.row("levels").mark == "✎ set locally"
    assert lead.row("levels").value == "1000 Hz: 20, 2000 Hz: 20, 4000 Hz: 25 dB HL"
    assert "In the original: 20 dB HL (read in the source)" in act.card().paragraphs[0][0]
    lead.press("As in the original: 20 dB HL")
    assert lead.row("levels").mark == "read in the source"


def test_nonsense_is_said_at_its_field_and_not_saved(lead: Lead) -> None:
    act = lead.copied("aaa-2011")
    act.choose("presentations")
    lead.press("–")
    act.choose("rescreen_days")
    for _ in range(5):
        lead.press("+7", "First day")
    assert lead.row("rescreen_days").wrong and not lead.row("presentations").wrong
    assert "“When to rescreen” ends before it starts" in act.card().wrong
    act.choose("frequencies")
    assert act.card().wrong == ""
    act.save()
    assert act.field == "rescreen_days", "the field that is wrong is opened"
    assert lead.told[-1][0] == "Not saved yet" and "ends before it starts" in lead.told[-1][1]
    assert lead.session.own_protocols.names() == []
    assert lead.row("presentations").value == "at most 3, then no response"
    lead.press("+7", "Last day")
    act.save()
    assert lead.told[-1][0] == "The copy is saved"
    assert lead.session.own_protocols.names() == ["ours"]
    assert lead.act.draft is None and lead.act.own


def test_no_frequency_is_refused_in_spanish_too(tmp_path: Path) -> None:
    lead = Lead(tmp_path, "es")
    act = lead.copied("aaa-2011", "Nuestro")
    for _ in range(3):
        lead.press("×", "1.")
    assert act.card().wrong == "Así aún no tiene sentido: «Tonos y su orden» no nombra ninguna frecuencia."


def test_the_name_is_checked_while_it_is_typed(lead: Lead) -> None:
    lead.copied("aaa-2011").save()
    lead.see("aaa-2011").copy()
    check = lead.typed[-1][1]["check"]
    assert "is missing" in check("  ") and "is the name of another protocol" in check("ours")
    assert check("Ours, too") == ""


def test_another_name_keeps_the_file(lead: Lead) -> None:
    lead.copied("aaa-2011").save()
    lead.act.change()
    act = lead.act
    assert not act.draft.touched
    act.rename()
    assert lead.typed[-1][1]["text"] == "Ours" and lead.typed[-1][1]["check"]("Ours") == ""
    lead.typed[-1][0][3]("Ours  for 2027")
    assert act.title()[0] == "Ours for 2027"
    act.save()
    assert lead.session.own_protocols.titles() == {"ours": "Ours for 2027"}


def test_leaving_a_change_asks_and_leaving_nothing_does_not(lead: Lead) -> None:
    act = lead.copied("aaa-2011")
    act.go_back()
    assert lead.asked[-1][0] == "Leave without saving?"
    act.save()
    lead.act.change()
    lead.act.go_back()
    assert len(lead.asked) == 1 and lead.act.draft is None
    lead.act.change()
    lead.act.choose("presentations")
    lead.press("–")
    lead.act.go_back()
    lead.asked[-1][2][0][2]()  # leave without saving
    assert lead.session.own_protocols.load("ours").presentations == 4


def test_deleting_asks_and_goes_back_to_a_preset(lead: Lead) -> None:
    lead.copied("aaa-2011").save()
    act = lead.see("ours", school="Tern Hollow", protocol="ours")
    act.delete()
    assert lead.asked[-1][0] == "Delete “Ours”?" and lead.session.own_protocols.names() == ["ours"]
    lead.asked[-1][2][0][2]()
    assert lead.session.own_protocols.names() == []
    assert lead.went == ("prepare", {"kept": {"school": "Tern Hollow", "protocol": "aaa-2011"}})


def test_a_disk_that_takes_nothing_says_so_and_loses_nothing(lead: Lead, tmp_path: Path) -> None:
    (tmp_path / "app").write_text("in the way", "utf-8")
    act = lead.copied("aaa-2011")
    act.save()
    assert "cannot be written" in lead.told[-1][0]
    assert lead.act is act and act.draft.title == "Ours"


def test_levels_of_their_own_for_some_grades(lead: Lead) -> None:
    act = lead.copied("aaa-2011")
    act.choose("levels")
    lead.press("Other levels for some grades")
    lead.asked[-1][3](("1", "K"))
    assert lead.row("levels").value == "20 dB HL; Grades K, 1: 20 dB HL"
    lead.press("As all other grades")
    assert lead.row("levels").value == "20 dB HL"


def test_what_was_filled_in_for_the_visit_comes_back(lead: Lead) -> None:
    prepare = PreparePresenter(lead.session)
    prepare.enter()
    prepare.school, prepare.tablets, prepare.passphrase = "Tern Hollow", 7, "seven quiet bells ring"
    prepare.choose_protocol("texas-37-24")
    prepare.see_protocol()
    assert lead.act.protocol == preset("texas-37-24")
    lead.act.copy()
    lead.typed[-1][0][3]("Ours")
    lead.act.save()
    lead.act.use()
    name, more = lead.went
    assert name == "prepare" and more["kept"].keys() == set(KEPT)
    again = PreparePresenter(lead.session)
    again.enter(**more)
    assert (again.school, again.tablets, again.passphrase) == (
        "Tern Hollow",
        7,
        "seven quiet bells ring",
    )
    assert again.protocol == "ours"
    assert again.protocols()[0] == ("ours", "Ours", "made here")
    assert "Changed in this copy" not in again.protocol_view().marks
    assert again.protocol_view().title == "Ours (local copy of: Texas, 25 TAC 37.24)"
    lead.see("ours", protocol="aaa-2011").go_back()
    assert lead.went[1]["kept"]["protocol"] == "aaa-2011", "looking is not choosing"


def test_a_file_that_makes_no_sense_closes_the_way_on(lead: Lead, tmp_path: Path) -> None:
    folder = tmp_path / "app" / "protocols"
    folder.mkdir(parents=True)
    (folder / "by-hand.toml").write_text('name = "by-hand"\ntitle = "By hand"\nfrequencies = []', "utf-8")
    prepare = PreparePresenter(lead.session)
    prepare.enter()
    assert prepare.protocols()[0] == ("by-hand", "by-hand", "cannot be used")
    prepare.choose_protocol("by-hand")
    assert not prepare.filled("protocol")
    view = prepare.protocol_view()
    assert "field 'frequencies' names no frequency" in view.cautions
    assert str(folder / "by-hand.toml") in view.source
    prepare.see_protocol()
    assert lead.went == ("", {})
    prepare.choose_protocol("aaa-2011")
    assert prepare.filled("protocol")


def test_the_marks_name_their_fields(lead: Lead) -> None:
    prepare = PreparePresenter(lead.session)
    prepare.enter()
    prepare.choose_protocol("pennsylvania-23-5")
    lines = prepare.protocol_view().marks.split("\n")
    assert lines[0] == "Read in the source: tones and their order; grades due."
    assert lines[1].startswith("Second-hand: levels; when to rescreen;")
    assert lines[2].startswith("Not in the source: ")  # nobody here set it


def test_what_a_copy_changed_comes_before_the_marks(lead: Lead) -> None:
    act = lead.copied("texas-37-24")
    act.draft.put("rescreen_days", [14, 28])
    act.draft.put("presentations", 3)
    act.save()
    prepare = PreparePresenter(lead.session)
    prepare.enter()
    prepare.choose_protocol("ours")
    lines = prepare.protocol_view().marks.split("\n")
    assert lines[0] == "Changed in this copy: presentations of a tone; when to rescreen."
    assert "when to rescreen" not in lines[1] and "when to rescreen" in lines[2]
