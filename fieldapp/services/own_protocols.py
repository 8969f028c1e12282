"""The protocols that a team made for itself: one TOML file each in a folder, found again, kept and deleted.

Which figures make sense is ``Protocol``'s to say; here is only where the files are and what they are called.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path

import tomli_w

from fieldapp.platform.files import write_whole
from fieldapp.services.presets import load_protocol, preset_names
from shared.errors import QuietbellError, Refused, WriteRefused
from shared.hearing.protocol import Protocol, ProtocolError

LONGEST_TITLE = 60

HEAD = """\
# A local copy of a screening protocol, not the protocol itself. What was changed is marked "set locally".
# quietbell protocol check FILE tells whether it makes sense after a change by hand.
"""


class OwnProtocols:
    """The own protocols in ``folder``; None: this device keeps none."""

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder

    def names(self) -> list[str]:
        """The names of all own protocols, also of a file that makes no sense."""
        if self.folder is None or not self.folder.is_dir():
            return []
        found = (file.stem for file in self.folder.glob("*.toml") if not file.name.startswith("."))
        return sorted(set(found) - set(preset_names()))

    def load(self, name: str) -> Protocol:
        """The preset or own protocol of that name; raises ``Refused`` where there is none or it makes no sense."""
        return load_protocol(name, self.folder)

    def titles(self) -> dict[str, str]:
        """The name of every own protocol that makes sense, and its title."""
        found = {}
        for name in self.names():
            try:
                found[name] = self.load(name).title
            except QuietbellError:
                continue
        return found

    def path(self, name: str) -> Path:
        """The file of an own protocol."""
        if self.folder is None:
            raise Refused("There is no folder for own protocols.", kept="Nothing was changed.")
        return self.folder / f"{name}.toml"

    def name_for(self, title: str) -> str:
        """A free name, as a file has it, for a copy of that title."""
        plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
        words = "".join(char if char.isalnum() else " " for char in plain).split()
        start = "-".join(words)[:48] or "copy"
        taken = {*preset_names(), *self.names()}
        return next(name for name in (start, *(f"{start}-{n}" for n in range(2, 999))) if name not in taken)

    def check_title(self, title: str, name: str = "") -> None:
        """Whether a copy may be called so; ``name`` is the copy that has the title already.

        Raises ``ProtocolError`` for no title, one too long for the papers, or one that another has.
        """
        said = " ".join(title.split())
        others = {each for each in (*preset_names(), *self.names()) if each != name}
        if not said:
            raise ProtocolError("title", "is missing")
        if len(said) > LONGEST_TITLE:
            raise ProtocolError("title", f"is longer than {LONGEST_TITLE} letters")
        for each in others:
            try:
                taken = self.load(each).title
            except QuietbellError:
                continue
            if said.casefold() in (taken.casefold(), each.casefold()):
                raise ProtocolError("title", "is the name of another protocol")

    def save(self, protocol: Protocol) -> Path:
        """Keep an own protocol whole or not at all; raises ``Refused`` for a preset's name, ``WriteRefused``."""
        if protocol.name in preset_names():
            raise ProtocolError("name", "is the name of a preset")
        file = self.path(protocol.name)
        write_protocol(file, protocol)
        return file

    def delete(self, name: str) -> None:
        """Take an own protocol away; visits that were prepared with it keep it."""
        try:
            self.path(name).unlink(missing_ok=True)
        except OSError as error:
            raise WriteRefused(
                f"The file cannot be deleted ({(error.strerror or 'unknown fault').lower()}).",
                kept="Nothing was lost.",
            ) from None


def write_protocol(file: Path, protocol: Protocol) -> None:
    """Write a protocol as a TOML file that ``read_protocol`` gives back equal."""
    data = {name: value for name, value in protocol.to_dict().items() if value is not None}
    for name in ("exemptions", "could_not_test"):
        data[name] = [{key: value for key, value in each.items() if value is not None} for each in data[name]]
    if "referral" in data:
        data["referral"] = {key: value for key, value in data["referral"].items() if value is not None}
    write_whole(file, (HEAD + "\n" + tomli_w.dumps(data)).encode("utf-8"))
