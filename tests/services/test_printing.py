"""From the book to paper: what is drawn is what is kept, nothing is kept before, and who has to be warned."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fieldapp.papers import PAPERS
from fieldapp.services.presets import load_protocol, preset_names
from fieldapp.services.printing import draw, keep, must_be_warned, print_papers
from shared.errors import Refused
from shared.records.entries import Kind


def issued(desk):
    return desk.ledger.register.entries(Kind.PAPER_ISSUED)


def test_a_paper_is_drawn_without_a_trace_and_kept_as_it_was_drawn(visit, tmp_path):
    desk, folder = visit.desk, tmp_path / "papers"
    drawn = draw(desk, "not-yet-screened-list", folder)
    assert drawn.made.pdf.startswith(b"%PDF") and drawn.made.pages == 1
    assert not folder.exists() and not issued(desk)
    kept = keep(desk, drawn)
    assert kept.path.read_bytes() == drawn.made.pdf
    assert kept.path.with_suffix(".csv").exists()
    (entry,) = issued(desk)
    assert entry.body["paper"] == "not-yet-screened-list" and entry.body["number"] == drawn.made.number
    with pytest.raises(Refused, match="papers of these names already: not-yet-screened-list"):
        print_papers(desk, folder, only=["not-yet-screened-list"])
    (again,) = print_papers(desk, folder, only=["not-yet-screened-list"], overwrite=True)
    assert again.path.read_bytes() == drawn.made.pdf


def test_a_long_paper_tells_how_far_it_is(visit, tmp_path):
    desk, told = visit.desk, []
    draw(desk, "child-records", tmp_path, progress=lambda done, of_all: told.append((done, of_all)))
    count = len(desk.standings())
    assert told == [(n, count) for n in range(1, count + 1)]


def test_only_letters_home_by_an_unverified_protocol_ask_for_a_warning():
    protocol = load_protocol("aaa-2011")
    warned = {name for name in PAPERS if must_be_warned(replace(protocol, verified=False), name)}
    assert warned == {name for name in PAPERS if name.startswith("letters-")} and len(warned) == 4
    assert not any(must_be_warned(replace(protocol, verified=True), name) for name in PAPERS)


@pytest.mark.parametrize("name", preset_names())
def test_no_preset_passes_without_the_warning(name):
    assert must_be_warned(load_protocol(name), "letters-referral")
