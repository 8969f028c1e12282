"""The command ``protocol``: list, show, copy and check screening protocols. No rules here, and no store is opened."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from fieldapp.app import private_folder
from fieldapp.cli.say import say_json
from fieldapp.screens import protocol_words
from fieldapp.screens.translation import Translator
from fieldapp.services.own_protocols import OwnProtocols, write_protocol
from fieldapp.services.presets import (
    borrowed_marks,
    differences,
    load_protocol,
    origin,
    preset_names,
    read_protocol,
)
from shared.errors import QuietbellError, Refused
from shared.hearing.protocol import Protocol
from shared.hearing.protocol_marks import in_use

WORDS = Translator("en")


def own_protocols() -> OwnProtocols:
    """The protocols that were made on this device."""
    return OwnProtocols(private_folder() / "protocols")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own commands."""
    acts = parser.add_subparsers(metavar="ACT", required=True)
    shown = acts.add_parser("list", help="the presets and the protocols made here")
    shown.set_defaults(act=_list)
    _add_json(shown)
    shown = acts.add_parser("show", help="a protocol in full, each field with its mark")
    shown.add_argument("name", metavar="NAME", help="its name, or a .toml file")
    shown.set_defaults(act=_show)
    _add_json(shown)
    copied = acts.add_parser("copy", help="a local copy to change, on the screen or in its file")
    copied.add_argument("name", metavar="NAME", help="what to copy: its name, or a .toml file")
    copied.add_argument("title", metavar="TITLE", help="what the copy is called")
    copied.add_argument(
        "--out", type=Path, metavar="FILE.toml", help="a file of its own, not among those of this device"
    )
    copied.set_defaults(act=_copy)
    checked = acts.add_parser("check", help="whether a changed file makes sense; if not, which field")
    checked.add_argument("file", type=Path, metavar="FILE.toml")
    checked.set_defaults(act=_check)
    _add_json(checked)


def protocol(options: argparse.Namespace) -> int:
    """List, show, copy or check."""
    status: int = options.act(options)
    return status


def _list(options: argparse.Namespace) -> int:
    own = own_protocols()
    rows = [_listed(own, name, here=True) for name in own.names()]
    rows += [_listed(own, name, here=False) for name in preset_names()]
    if options.json:
        say_json(rows)
        return 0
    for row in rows:
        print(f"{row['name']:24}{row['title']}{'  (made here)' if row['own'] else ''}")
        if row["problem"]:
            print(f"{'':24}{row['problem']}")
    return 0


def _listed(own: OwnProtocols, name: str, *, here: bool) -> dict[str, Any]:
    try:
        found = own.load(name)
    except QuietbellError as error:
        return {"name": name, "title": "", "own": here, "problem": error.happened}
    return {"name": name, "title": protocol_words.title(WORDS, found), "own": here, "problem": ""}


def _show(options: argparse.Namespace) -> int:
    found = load_protocol(options.name, own_protocols().folder)
    if options.json:
        say_json(found.to_dict())
    else:
        _print(found)
    return 0


def _print(found: Protocol) -> None:
    data = found.to_dict()
    print(protocol_words.title(WORDS, found))
    print(
        f"Source: {found.source or 'none named'}" + (f", looked up {found.checked}" if found.checked else "")
    )
    if not found.verified:
        print("NOT VERIFIED: nobody has compared it with the rule in force.")
    changed = found.copy_of.changed if found.copy_of else ()
    for field in in_use(data):
        mark = protocol_words.mark_name(WORDS, found.marks.get(field, ""), own=field in changed)
        words = protocol_words.value(WORDS, data, field).split("\n")
        print(f"  {field:24}{words[0]}  [{mark}]")
        for line in words[1:]:
            print(f"  {'':24}{line}")
    for caution in found.cautions:
        print(f"  {caution}")


def _copy(options: argparse.Namespace) -> int:
    own = own_protocols()
    first = load_protocol(options.name, own.folder)
    own.check_title(options.title)
    title = " ".join(options.title.split())
    copied = first.copied(own.name_for(title), title=title)
    if options.out is None:
        file = own.save(copied)
    else:
        file = options.out
        if file.suffix != ".toml" or file.exists():
            raise Refused(
                "The copy needs a new .toml file.", kept="Nothing was changed.", todo="Give another name."
            )
        write_protocol(file, copied)
    print(f"{copied.name}: {file}")
    print("A local copy, marked as one. Change it there, or on the screen where a visit is prepared; then:")
    print(f"  quietbell protocol check {file}")
    return 0


def _check(options: argparse.Namespace) -> int:
    """Read the file as ``--protocol`` would, and say what differs from its preset."""
    found = read_protocol(options.file)
    first = origin(found)
    changed = differences(found, first) if first else ()
    borrowed = borrowed_marks(found)
    if options.json:
        of = first.name if first else ""
        say_json({"name": found.name, "copy_of": of, "changed": changed, "borrowed_marks": borrowed})
        return 0
    print(f"{found.name}: makes sense.")
    if first is not None:
        print(f"Not as in {first.name}: {', '.join(changed) or 'nothing'}.")
    if borrowed:
        print(
            f"Still marked as in {first.name if first else ''}, so taken as set locally: {', '.join(borrowed)}."
        )
    return 0


def _add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print machine-readable output")
