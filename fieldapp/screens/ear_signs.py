"""Asks what is seen at a child's ears and lets the rule decide: to the medical list, or noted and on. No Kivy."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from fieldapp.screens import phrases
from fieldapp.screens.session import Session
from shared.errors import QuietbellError
from shared.hearing.not_tested import EAR_SIGNS, earphones_allowed
from shared.records.entries import EARS
from shared.records.standing import Standing


def words(session: Session, signs: Collection[str], ears: Sequence[str]) -> str:
    """``drainage from the ear, pain in the ear (left)``, in the language of the screen; a stranger sign as it is."""
    t = session.t
    said = ", ".join(t(key) if t.has(key := f"ear_sign.{sign}") else sign for sign in signs)
    which = ", ".join(t(f"ear.{ear}") for ear in ears)
    return f"{said} ({which})" if said and which else said or which


def ask(session: Session, child: str, then: Callable[[bool, Standing], None]) -> None:
    """Ask for the signs and the ear; ``then`` gets whether the earphones may go on, and where the child stands."""
    t = session.t
    of_signs = [(f"sign:{sign.key}", t(f"ear_sign.{sign.key}")) for sign in EAR_SIGNS]
    of_ears = [(f"ear:{ear}", t(f"ear.{ear}_row")) for ear in EARS]

    def picked(chosen: Collection[str], kind: str) -> list[str]:
        return [
            key.removeprefix(kind)
            for key, _words in (*of_signs, *of_ears)
            if key in chosen and key.startswith(kind)
        ]

    def button(chosen: Collection[str]) -> tuple[str, bool]:
        signs = picked(chosen, "sign:")
        if not signs:
            return t("ear_sign.choose"), False
        return t("ear_sign.may") if earphones_allowed(signs) else t("ear_sign.stops"), True

    def take(chosen: Collection[str]) -> None:
        signs, ears = picked(chosen, "sign:"), picked(chosen, "ear:")
        note = words(session, signs, ears) if earphones_allowed(signs) else ""
        try:
            allowed, standing = session.station.look(child, signs, ears, note)
        except QuietbellError as error:
            session.trouble(error)
            return
        then(allowed, standing)

    name = phrases.name_said(session.station.standing(child).person)
    groups = [(t("ear_sign.words"), of_signs), (t("ear_sign.which"), of_ears)]
    session.ask_many(t("ear_sign.title", name=name), groups, button, take)
