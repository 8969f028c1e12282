"""Who sends the letters. No Kivy."""

from __future__ import annotations

from typing import Any

from fieldapp.screens.base import Presenter

FIELDS = ("name", "phone", "street", "signer", "town", "role")


class LetterheadPresenter(Presenter):
    """Keeps the letterhead in the visit book; ``back`` is what the papers were at, to be found so again."""

    def enter(self, back: dict[str, Any] | None = None) -> None:
        self.back = back or {}
        said = self.session.desk.ledger.about.get("letterhead", {})
        address = [*said.get("address", ()), "", ""]
        self.fields = {name: str(said.get(name, "")) for name in ("name", "phone", "signer", "role")}
        self.fields |= {"street": str(address[0]), "town": str(address[1])}

    def go_back(self) -> None:
        """To the papers, with the same one chosen."""
        self.session.go("papers", **self.back)

    def keep(self, fields: dict[str, str]) -> None:
        """Write it down; empty lines leave room to write by hand."""
        said = {name: text.strip() for name, text in fields.items()}
        address = [line for line in (said.pop("street"), said.pop("town")) if line]
        office = self.session.desk.office
        if self.guarded(lambda: office.set_letterhead(**said, address=address)):
            self.go_back()
            self.session.tell(self.t("letterhead.kept"), "")
