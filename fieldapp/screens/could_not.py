"""Asks why a child could not be tested, so that whoever tries again knows; the answer is the note. No Kivy."""

from __future__ import annotations

from collections.abc import Callable

from fieldapp.screens import phrases
from fieldapp.screens.session import Session

#: What a screener sees, never why the child is so (common practice, no source).
WHYS = ("not_understood", "without_tone", "restless", "no_earphones")


def ask(session: Session, child: str, then: Callable[[str], object]) -> None:
    """Offer the usual reasons for this child and a line of one's own; ``then`` gets the note."""
    t = session.t
    title = t("could_not.title", name=phrases.name_said(session.station.standing(child).person))

    def own_words() -> None:
        session.ask_text(title, t("note.label"), t("note.keep"), then)

    ways: list[tuple[str, str, Callable[[], object]]] = [
        (t(f"could_not.{why}"), "quiet", lambda why=why: then(t(f"could_not.{why}")))  # type: ignore[misc]
        for why in WHYS
    ]
    ways.append((t("could_not.other"), "quiet", own_words))
    session.ask(title, t("could_not.words"), [*ways, (t("sheet.back"), "back", lambda: None)])
