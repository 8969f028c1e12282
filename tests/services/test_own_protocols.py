"""A team's own protocols: kept as files, read back equal, named; and a copied file that keeps no borrowed mark."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from fieldapp.services.own_protocols import OwnProtocols, write_protocol
from fieldapp.services.presets import (
    borrowed_marks,
    differences,
    load_protocol,
    origin,
    preset,
    preset_names,
    read_protocol,
)
from shared.errors import Refused, WriteRefused
from shared.hearing.protocol import CopyOf, Protocol, ProtocolError


@pytest.fixture
def own(tmp_path: Path) -> OwnProtocols:
    return OwnProtocols(tmp_path / "protocols")


@pytest.mark.parametrize("name", preset_names())
def test_a_copy_of_every_preset_comes_back_equal_from_its_file(own: OwnProtocols, name: str) -> None:
    ours = preset(name).copied(own.name_for("Ours"), title="Ours, “straße” & \\ 漢字", presentations=2)
    file = own.save(ours)
    assert file == own.path("ours")
    assert own.load("ours") == load_protocol(str(file)) == ours
    assert ours.copy_of == CopyOf(name, preset(name).title, ("presentations",))
    assert ours.mark_of("presentations") == "set locally"


def test_it_is_found_by_its_name_and_by_its_path(own: OwnProtocols) -> None:
    own.save(preset("aaa-2011").copied("ours"))
    assert load_protocol("ours", own.folder) == load_protocol(str(own.path("ours")))
    with pytest.raises(Refused):
        load_protocol("ours")
    with pytest.raises(Refused):
        load_protocol("../protocols/ours", own.folder)


def test_a_name_is_made_of_the_title_and_free(own: OwnProtocols) -> None:
    assert own.name_for("Tern Hollow district, 2026") == "tern-hollow-district-2026"
    assert own.name_for("Valle del Río") == "valle-del-rio"
    assert own.name_for("漢字") == "copy"
    assert own.name_for("AAA 2011") == "aaa-2011-2"  # a preset has that name
    own.save(preset("aaa-2011").copied("ours"))
    assert own.name_for("Ours!") == "ours-2"


@pytest.mark.parametrize(
    ("title", "reason"),
    [
        ("  ", "is missing"),
        ("x" * 61, "is longer than 60 letters"),
        ("texas, 25 tac 37.24", "is the name of another protocol"),
        ("AAA-2011", "is the name of another protocol"),
        ("Tern  hollow", "is the name of another protocol"),
    ],
)
def test_a_title_that_would_be_taken_for_another_is_refused(
    own: OwnProtocols, title: str, reason: str
) -> None:
    own.save(preset("aaa-2011").copied("ours", title="Tern Hollow"))
    with pytest.raises(ProtocolError) as refused:
        own.check_title(title)
    assert (refused.value.field, refused.value.reason) == ("title", reason)
    own.check_title("Tern Hollow", name="ours")  # its own title


def test_a_file_that_makes_no_sense_is_listed_and_refused_with_the_field_named(own: OwnProtocols) -> None:
    file = own.save(preset("aaa-2011").copied("ours", title="Ours"))
    text = file.read_text("utf-8")
    file.write_text(text.replace("2000 = 20", "2000 = 22"), "utf-8")
    assert own.names() == ["ours"]
    assert own.titles() == {}
    with pytest.raises(ProtocolError) as refused:
        own.load("ours")
    assert refused.value.field == "levels.by_hz"
    file.write_text("frequencies = [", "utf-8")
    with pytest.raises(Refused):
        own.load("ours")
    own.check_title("Another")  # a broken neighbour is no obstacle


def test_a_presets_name_cannot_be_taken_and_presets_cannot_be_deleted(own: OwnProtocols) -> None:
    with pytest.raises(ProtocolError):
        own.save(preset("aaa-2011"))
    own.delete("aaa-2011")  # there is no such file of one's own
    assert own.load("aaa-2011") == preset("aaa-2011")


def test_deleting_is_for_good_and_may_be_done_twice(own: OwnProtocols) -> None:
    own.save(preset("aaa-2011").copied("ours"))
    own.delete("ours")
    own.delete("ours")
    assert own.names() == []


def test_without_a_folder_nothing_is_kept_and_presets_are_there() -> None:
    none = OwnProtocols(None)
    assert none.names() == []
    assert none.load("aaa-2011").name == "aaa-2011"
    with pytest.raises(Refused):
        none.save(preset("aaa-2011").copied("ours"))


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")
    with pytest.raises(WriteRefused):
        OwnProtocols(tmp_path / "file").save(preset("aaa-2011").copied("ours"))


# -- a preset's file, copied and edited by hand


def edited(tmp_path: Path, *swaps: tuple[str, str], name: str = "texas-37-24") -> Path:
    import assets

    text = assets.path("protocols", f"{name}.toml").read_text("utf-8")
    for before, after in swaps:
        assert before in text
        text = text.replace(before, after)
    file = tmp_path / "ours.toml"
    file.write_text(text, "utf-8")
    return file


def test_a_figure_changed_by_hand_does_not_keep_the_mark_of_the_source(tmp_path: Path) -> None:
    file = edited(tmp_path, ("1000 = 25", "1000 = 20"))
    assert read_protocol(file).mark_of("levels") == "read"  # what the file says
    ours = load_protocol(str(file))
    assert ours.mark_of("levels") == "set locally"
    assert ours.mark_of("frequencies") == "read"
    assert ours.copy_of == CopyOf("texas-37-24", preset("texas-37-24").title, ("levels",))
    assert ours.title == "Local copy of Texas, 25 TAC 37.24", "a letter must not cite Texas for it"


def test_who_looked_into_the_source_again_may_keep_the_mark(tmp_path: Path) -> None:
    file = edited(tmp_path, ("1000 = 25", "1000 = 20"), ('"2026-11-25"', '"2027-03-01"'))
    ours = load_protocol(str(file))
    assert ours.mark_of("levels") == "read"
    assert ours.copy_of is None


def test_an_unchanged_copy_by_hand_is_the_preset(tmp_path: Path) -> None:
    ours = load_protocol(str(edited(tmp_path)))
    assert ours == preset("texas-37-24")


def test_a_protocol_with_a_source_of_its_own_is_nobodys_copy(tmp_path: Path) -> None:
    file = edited(tmp_path, ('source = "25 Texas', 'source = "Our own rule, after 25 Texas'))
    assert origin(load_protocol(str(file))) is None
    assert borrowed_marks(read_protocol(file)) == ()


def test_differences_are_those_of_the_rule(tmp_path: Path) -> None:
    first = preset("washington-246-760")
    ours = first.copied("ours", title="Ours", checked="2027-01-01", rescreen_days=[7, 21], cautions=[])
    assert differences(ours, first) == ("rescreen_days",)
    assert ours.copy_of is not None and ours.copy_of.changed == ("rescreen_days",)


def test_the_file_is_plain_toml_that_says_what_it_is(tmp_path: Path) -> None:
    ours: Protocol = preset("illinois-675").copied("ours", rescreen_days=[21])
    write_protocol(tmp_path / "ours.toml", ours)
    text = (tmp_path / "ours.toml").read_text("utf-8")
    assert text.startswith("# A local copy")
    data = tomllib.loads(text)
    assert data["rescreen_days"] == [21]
    assert data["copy_of"]["title"] == "Illinois, 77 Ill. Adm. Code 675"
    assert data["source"] == preset("illinois-675").source
