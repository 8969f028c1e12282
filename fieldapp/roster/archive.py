"""Zip files, looked through before anything in them is unpacked: what they are, and whether they are a bomb."""

from __future__ import annotations

import io
import zipfile
import zlib
from dataclasses import dataclass
from enum import Enum, auto

from fieldapp.roster.reading import NotARoster

MOST_MEMBERS = 2_000
MOST_UNPACKED = 64 * 1024 * 1024  # bytes, of all members together
# XML tables shrink to a tenth or a thirtieth; a file that shrinks to less than a hundredth is made to do harm.
MOST_RATIO = 100
_SMALL = 8 * 1024 * 1024  # bytes unpacked below which any ratio is harmless


class ArchiveKind(Enum):
    WORKBOOK = auto()
    ONEROSTER = auto()


@dataclass(frozen=True, slots=True)
class Archive:
    """A zip whose declared sizes are within the limits. ``members``: lower-case base name -> full name."""

    zip: zipfile.ZipFile
    kind: ArchiveKind
    members: dict[str, str]

    def read(self, base_name: str) -> bytes:
        """The bytes of a member. A member longer than it declares fails its checksum and is refused."""
        try:
            return self.zip.read(self.members[base_name])
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError):
            raise _damaged() from None


def open_archive(data: bytes) -> Archive:
    """Look through a zip. Raises ``NotARoster`` for bombs, damage, encryption and other kinds of zip."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        members = archive.infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError):
        raise _damaged() from None
    _refuse_bombs(members, len(data))
    if any(member.flag_bits & 0x1 for member in members):
        raise NotARoster("This file is locked with a password.", todo="Ask for it without one.")
    names = {member.filename for member in members}
    if "xl/workbook.xml" in names:
        _refuse_declarations(archive, members)
        return Archive(archive, ArchiveKind.WORKBOOK, {})
    files = {
        name.rpartition("/")[2].lower(): name
        for name in sorted(names, key=lambda name: -name.count("/"))
        if not name.startswith("__MACOSX/")
    }
    if "users.csv" in files:
        return Archive(archive, ArchiveKind.ONEROSTER, files)
    raise NotARoster(f"This file is {_kind(names)}.", todo=_TODO)


_TODO = "Ask the school for the class list as a CSV or .xlsx file, or as a OneRoster CSV set."


def _kind(names: set[str]) -> str:
    if "xl/workbook.bin" in names:
        return "a binary workbook (.xlsb), which cannot be read here"
    if "word/document.xml" in names:
        return "a word processor file, not a class list"
    if "content.xml" in names:
        return "an OpenDocument file, which cannot be read here"
    if any(name.lower().endswith((".csv", ".xlsx")) for name in names):
        return "a zip with other files in it; unpack it and choose the class list"
    return "a zip without a class list in it"


def _refuse_bombs(members: list[zipfile.ZipInfo], packed: int) -> None:
    unpacked = sum(member.file_size for member in members)
    if len(members) > MOST_MEMBERS:
        raise NotARoster(f"This file holds {len(members):,} files inside; a class list has a few.")
    if unpacked > MOST_UNPACKED or (unpacked > _SMALL and unpacked > MOST_RATIO * packed):
        raise NotARoster(
            f"This file would unpack from {packed // 1000:,} kB to {unpacked // 1_000_000:,} MB, "
            "far more than a class list."
        )


def _refuse_declarations(archive: zipfile.ZipFile, members: list[zipfile.ZipInfo]) -> None:
    """No workbook declares a document type; where one stands, it can only blow up the reader."""
    for member in members:
        if not member.filename.lower().endswith((".xml", ".rels")):
            continue
        try:
            with archive.open(member) as opened:
                head = opened.read(4096)
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError):
            raise _damaged() from None
        if b"<!doctype" in head.replace(b"\x00", b"").lower():
            raise NotARoster("This workbook is built to do harm; it was not opened.")


def _damaged() -> NotARoster:
    return NotARoster("This file is a damaged workbook or zip.", todo="Ask the school to send it again.")
