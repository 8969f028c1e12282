"""The pages of a paper before it is made, by real touches: turning, enlarging, saving; and nothing left behind."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path

import pytest

from shared.records.entries import Kind
from shared.records.standing import Person
from tests.facts import PASSPHRASE

pytestmark = pytest.mark.window


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "office"
    made.mkdir()
    return made


@pytest.fixture
def office(visit, folder):
    """A hand on a visit book of 120 children, none seen yet: their list has several pages."""
    from demo.window import Hand

    names = ("Amara", "Tobias", "小雨", "Inés")
    people = [
        Person(
            f"{names[n % 4]} {n}",
            "Velloso",
            (date(2017, 1, 1) + timedelta(n)).isoformat(),
            f"S-{n}",
            "3",
            "3B",
        )
        for n in range(120)
    ]
    visit = type(visit)(folder, people)
    hand = Hand(visit.session(visit.book, exchange=visit.folder))
    hand.unlock(PASSPHRASE, "LD")
    hand.touch("Lists and letters")
    yield hand
    hand.close()


def look_at(hand, title):
    hand.front.presenter.open(title)
    hand.touch("See the pages")
    hand.until(lambda: hand.screen == "preview" and hand.front.presenter.picture)


def files_of(folder):
    return {file: file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def test_pages_are_turned_enlarged_and_saved_by_touch(office, folder):
    look_at(office, "not-yet-screened-list")
    act, leaf = office.front.presenter, office.front.ids.leaf
    pages = act.count
    assert pages > 2 and office.sees(f"Page 1 of {pages}")
    assert leaf.picture.page[0] <= leaf.width and leaf.picture.page[1] <= leaf.height
    office.touch("Page ›")
    assert office.sees(f"Page 2 of {pages}")
    office.swipe(leaf, -200)
    assert office.sees(f"Page 3 of {pages}")
    office.swipe(leaf, 200)
    office.swipe(leaf, 20, 150)  # neither far enough nor across
    assert office.sees(f"Page 2 of {pages}")
    office.touch("‹ Page")
    assert office.sees(f"Page 1 of {pages}") and office.pressable("‹ Page").disabled
    office.until(lambda: act.picture)
    office.touch("Larger")
    office.until(lambda: act.picture)
    assert leaf.picture.page[0] == pytest.approx(leaf.width, abs=2)  # as wide as the room, to be read
    before = leaf.scroll_y
    office.swipe(leaf, 0, -200)
    office.frames(20)
    assert leaf.scroll_y < before and office.sees(f"Page 1 of {pages}")
    office.key("right")
    assert office.sees(f"Page 2 of {pages}")
    office.touch(f"Page 2 of {pages}")
    office.type(str(pages))
    office.touch("Go there")
    assert office.sees(f"Page {pages} of {pages}") and office.pressable("Page ›").disabled
    office.touch("Save")
    office.until(lambda: act.saved)
    file = folder / "papers" / "not-yet-screened-list.pdf"
    assert file.read_bytes() == act.paper.made.pdf and file.with_suffix(".csv").exists()
    assert office.sees("Saved: ") and office.pressable("Saved").disabled
    office.key("escape")
    assert office.screen == "papers" and office.sees("Children: 120")


def test_the_page_on_the_screen_is_the_page(office):
    """The pixels that are shown, against another renderer's (poppler) of the same bytes."""
    import io
    import shutil
    import subprocess

    from PIL import Image, ImageChops, ImageStat

    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler-utils is not installed")
    look_at(office, "not-yet-screened-list")
    shown = office.front.presenter.picture
    ours = Image.frombytes("RGBA", (shown.wide, shown.high), shown.pixels).convert("L")
    asked = ["pdftoppm", "-gray", "-png", "-f", "1", "-l", "1", "-scale-to-x", str(shown.wide)]
    asked += ["-scale-to-y", str(shown.high), "-"]
    pdf = office.front.presenter.paper.made.pdf
    other = Image.open(io.BytesIO(subprocess.run(asked, input=pdf, check=True, capture_output=True).stdout))
    # renderers' edges differ; the grey of every small patch does not
    small = (shown.wide // 6, shown.high // 6)
    one, two = (each.convert("L").resize(small, Image.Resampling.BOX) for each in (ours, other))
    assert ImageStat.Stat(ImageChops.difference(one, two)).mean[0] < 3
    assert ours.getextrema()[0] < 100  # and there is something on it


def test_looking_writes_nothing_and_leaving_forgets_everything(office, folder):
    temporary = Path(tempfile.gettempdir())
    before, beside = files_of(folder), {file.name for file in temporary.iterdir()}
    look_at(office, "not-yet-screened-list")
    act, leaf = office.front.presenter, office.front.ids.leaf
    office.touch("Page ›")
    office.touch("Larger")
    office.until(lambda: act.picture)
    assert files_of(folder) == before
    new = [file for file in temporary.iterdir() if file.name not in beside and file.is_file()]
    assert not [file for file in new if file.read_bytes()[:5] in (b"%PDF-", b"\x89PNG\r")]
    assert not office.session.desk.ledger.register.entries(Kind.PAPER_ISSUED)
    office.app.stage.lock()
    office.frames()
    assert office.screen == "unlock"
    assert act.picture is None and not act._kept and leaf.picture.texture is None
    assert not office.app.stage.arguments.get("paper")


def test_letters_by_an_unverified_protocol_are_saved_only_after_a_warning(office, folder):
    look_at(office, "letters-rescreen")
    assert office.sees("Nobody has compared this protocol")
    office.touch("Save")
    assert office.sees("Before these letters go home")
    office.touch("Not now")
    assert not (folder / "papers").exists() and office.front.presenter.saved is None
    office.touch("Save")
    office.touch("Save them")
    assert office.sees("The letterhead is empty")
    office.touch("Save them")
    office.until(lambda: office.front.presenter.saved)
    assert (folder / "papers" / "letters-rescreen.pdf").exists()
