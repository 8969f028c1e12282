"""The protocols that ship with the app, and a protocol file of a team's own, read into ``Protocol``.

A file's own claims are taken only so far: a figure that differs from its preset does not keep the preset's mark.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path

import assets
from shared.errors import Refused
from shared.hearing.protocol import CopyOf, Protocol

DEFAULT = "aaa-2011"

#: Names and words: a change of one is no change of the rule.
_WORDS = frozenset(
    {"name", "title", "source", "checked", "verified", "marks", "cautions", "copy_of", "rescreen_set_locally"}
)


@cache
def preset_names() -> tuple[str, ...]:
    """The names of all presets, the default first."""
    names = sorted(file.stem for file in assets.path("protocols").glob("*.toml"))
    return tuple(sorted(names, key=lambda name: name != DEFAULT))


@cache
def preset(name: str) -> Protocol:
    """The preset of that name."""
    return read_protocol(assets.path("protocols", f"{name}.toml"))


def load_protocol(name: str, own: Path | None = None) -> Protocol:
    """The preset of that name, the own copy of that name in the folder ``own``, or the protocol in the TOML file
    at that path.

    Raises ``Refused`` where there is none of them, or where the file's rules make no sense (the field is named).
    """
    if name in preset_names():
        return preset(name)
    places = [own / f"{name}.toml"] if own and Path(name).name == name else []
    file = next(
        (place for place in (*places, Path(name)) if place.suffix == ".toml" and place.is_file()), None
    )
    if file is None:
        raise Refused(
            "There is no protocol of that name.",
            todo=f"Choose one of: {', '.join(preset_names())}; or give the path of a .toml file.",
        )
    return as_a_copy(read_protocol(file))


def read_protocol(file: Path) -> Protocol:
    """The protocol in a TOML file as it stands there; raises ``Refused`` (``ProtocolError`` names the field)."""
    try:
        data = tomllib.loads(file.read_text(encoding="utf-8"))
    except OSError:
        raise Refused("The protocol file cannot be read.", todo="Check that it is there.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        raise Refused(
            "The protocol file is not readable TOML.", todo="Copy a preset and edit that."
        ) from None
    return Protocol.from_dict(data)


def origin(protocol: Protocol) -> Protocol | None:
    """The preset that a protocol was copied from, by its own word or because it gives the same source."""
    if protocol.copy_of is not None:
        return preset(protocol.copy_of.name) if protocol.copy_of.name in preset_names() else None
    return next((each for each in map(preset, preset_names()) if each.source == protocol.source), None)


def borrowed_marks(protocol: Protocol) -> tuple[str, ...]:
    """The fields that differ from the preset they were copied from and still carry its mark.

    None where the source was looked at again after the preset's day: the mark is the team's own then.
    """
    first = origin(protocol)
    if first is None or looked_at_again(protocol, first):
        return ()
    return tuple(
        name
        for name in differences(protocol, first)
        if protocol.marks.get(name) == first.marks.get(name) != "set locally" and name in first.marks
    )


def looked_at_again(protocol: Protocol, first: Protocol) -> bool:
    """Whether a person says to have looked into the source after the preset's day, or to have verified it."""
    return protocol.verified or protocol.checked > first.checked


def differences(protocol: Protocol, first: Protocol) -> tuple[str, ...]:
    """The fields of the rule that are not the same in both."""
    ours, theirs = protocol.to_dict(), first.to_dict()
    return tuple(name for name in theirs if name not in _WORDS and ours[name] != theirs[name])


def as_a_copy(protocol: Protocol) -> Protocol:
    """The protocol without borrowed marks, and said to be a copy of its preset where it differs from it."""
    first = origin(protocol)
    if first is None or (protocol.copy_of is None and looked_at_again(protocol, first)):
        return protocol
    changed = differences(protocol, first)
    if not changed and protocol.copy_of is None:
        return protocol
    marks = {**protocol.marks, **dict.fromkeys(borrowed_marks(protocol), "set locally")}
    of = CopyOf(first.name, first.title, changed)
    return replace(protocol, title=of.title_of(protocol.title), marks=marks, copy_of=of)
