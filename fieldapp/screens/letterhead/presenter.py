"""Who sends the letters. No Kivy."""

from __future__ import annotations

from fieldapp.screens.base import Presenter

FIELDS = ("name", "phone", "street", "signer", "town", "role")


class LetterheadPresenter(Presenter):
    """Keeps the letterhead in the visit book."""

    def enter(self) -> None:
        said = self.session.desk.ledger.about.get("letterhead", {})
        address = [*said.get("address", ()), "", ""]
        self.fields = {name: str(said.get(name, "")) for name in ("name", "phone", "signer", "role")}
        self.fields |= {"street": str(address[0]), "town": str(address[1])}

    def keep(self, fields: dict[str, str]) -> None:
        """Write it down; empty lines leave room to write by hand."""
        said = {name: text.strip() for name, text in fields.items()}
        address = [line for line in (said.pop("street"), said.pop("town")) if line]
        office = self.session.desk.office
        if self.guarded(lambda: office.set_letterhead(**said, address=address)):
            self.session.go("papers")
            self.session.tell(self.t("letterhead.kept"), "")
