"""What a person is asked before a paper is saved: whether to warn the families' office first, and never to overwrite
unasked. For the list of papers, the preview and handouts. No Kivy."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from fieldapp.screens.session import Session
from fieldapp.services.printing import beside, lacks_letterhead, must_be_warned


def ask_before_saving(
    session: Session, name: str, path: Path, save: Callable[[Path], Any], back: dict[str, Any]
) -> None:
    """Ask one thing after the other, then ``save`` to the path that is left; whatever is refused ends it.

    ``back`` is what the papers are at, for whoever goes to fill the letterhead in.
    """
    t, desk = session.t, session.desk
    questions: list[tuple[str, str, list[tuple[str, str, Callable[[], Any]]]]] = []
    if must_be_warned(desk.protocol, name):
        words = f"{t('papers.unverified')} {t('papers.unverified_more')}"
        questions.append((t("papers.unverified_title"), words, []))
    if lacks_letterhead(desk, name):
        fill_in = (t("papers.fill_in"), "strong", lambda: session.go("letterhead", back=back))
        questions.append((t("papers.no_letterhead_title"), t("papers.no_letterhead"), [fill_in]))

    def ask_next() -> None:
        if not questions:
            ask_where(session, path, save)
            return
        title, words, ways = questions.pop(0)
        anyway = (t("papers.save_anyway"), "strong", ask_next)
        session.ask(title, words, [anyway, *ways, (t("papers.not_now"), "strong", lambda: None)])

    ask_next()


def ask_where(session: Session, path: Path, save: Callable[[Path], Any]) -> None:
    """A file that is there already is replaced only by a person's word."""
    if not path.exists():
        save(path)
        return
    t, other = session.t, beside(path)
    session.ask(
        t("papers.there_title", file=path.name),
        t("papers.there", folder=str(path.parent)),
        [
            (t("papers.keep_both", file=other.name), "strong", lambda: save(other)),
            (t("papers.replace"), "strong", lambda: save(path)),
            (t("papers.not_now"), "quiet", lambda: None),
        ],
    )
