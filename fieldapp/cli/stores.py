"""Commands on one store: of a tablet ``receive``, ``play``, ``give-back``; of any ``open``, ``status``, ``passphrase``.

Open, call, print; no rules here.
"""

from __future__ import annotations

import argparse
from contextlib import closing
from pathlib import Path
from typing import Any

from fieldapp.cli.say import Progress, changed_passphrase, counted, counted_children, passphrase, say_json
from fieldapp.platform.clock import DeviceClock, ScriptClock
from fieldapp.platform.files import read_whole
from fieldapp.services.desk import Desk
from fieldapp.services.roll import status_counts
from fieldapp.services.script import Player
from fieldapp.services.station import Station
from shared.errors import ForeignFile, Refused
from shared.vault import Vault, kind_of

Options = argparse.Namespace


def open_app(options: Options) -> int:
    """Open the touch app."""
    from fieldapp.app import run  # Kivy opens a window when imported, so only here

    run(options.store)
    return 0


def receive(options: Options) -> int:
    """Take a handout in on a tablet."""
    with closing(Station.receive(options.handout, options.store, passphrase())) as station:
        visit = station.visit
        print(
            f"Tablet {visit.tablet}, {visit.school}: {counted_children(len(station.standings()))} on its list."
        )
    return 0


def play(options: Options) -> int:
    """Run scripted actions through the same services as the screens."""
    try:
        lines = read_whole(options.script).decode("utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise Refused("The script is not UTF-8 text.", kept="Nothing was changed.") from None
    clock = ScriptClock(DeviceClock().now())
    with closing(Station.open(options.store, passphrase(), clock=clock)) as station:
        progress = Progress("line", len(lines))
        try:
            played = Player(station, clock).play(lines, progress)
        finally:
            progress.end()
        lines_played = counted(played.lines, "line", "lines")
        print(
            f"Tablet {station.visit.tablet}: {lines_played} played, {counted_children(played.screened)} screened."
        )
    return 0


def give_back(options: Options) -> int:
    """Make the sealed return for the lead."""
    with closing(Station.open(options.store, passphrase())) as station:
        count = station.give_back(options.out)
        print(
            f"Tablet {station.visit.tablet}: the return {options.out} holds {counted(count, 'entry', 'entries')}."
        )
    return 0


def status(options: Options) -> int:
    """Counts by status, entries per device, readiness."""
    with closing(open_store(options.store, passphrase())) as service:
        told = _status_of(service)
    if options.json:
        say_json(told)
        return 0
    print(f"{told['school']}: {counted_children(told['children'])}")
    for name, count in told["statuses"].items():
        if count:
            print(f"  {name:16}{count:6}")
    for name, device in told["devices"].items():
        gaps = f"{len(device['missing'])} missing" if device["missing"] else "none missing"
        print(f"tablet {name}: {counted(device['entries'], 'entry', 'entries')}, {gaps}")
    if "readiness" in told:
        ready = told["readiness"]
        level = f"ready since {ready['since']}, {ready['level_db_hl']} dB HL"
        print(level if ready["open"] else f"not ready to test: {ready['why_closed']}")
    print(counted(told["doubts"], "doubt", "doubts"))
    return 0


def _status_of(service: Station | Desk) -> dict[str, Any]:
    standings = service.standings()
    statuses = {status.value: count for status, count in status_counts(standings).items()}
    told: dict[str, Any] = {"children": len(standings), "statuses": statuses}
    if isinstance(service, Station):
        ready = service.ready
        told["school"] = service.visit.school
        own = {"entries": service.ledger.counter, "missing": []}
        told["devices"] = {service.visit.tablet: own}
        told["readiness"] = {
            "open": ready.open,
            "since": ready.since,
            "level_db_hl": ready.level_db_hl,
            "why_closed": ready.why_closed,
        }
    else:
        told["school"] = service.school
        told["devices"] = {}
        for device in service.devices():
            name, again = device.name, 2
            while name in told["devices"]:
                name, again = f"{device.name} ({again})", again + 1
            told["devices"][name] = {"entries": device.entries, "missing": list(device.missing)}
    told["doubts"] = len(service.doubts())
    return told


def open_store(path: Path, secret: str) -> Station | Desk:
    """The station or the desk of a store, whichever it is."""
    if not path.exists():
        raise Refused("There is no store at this place.", todo="Check the path.")
    kind = kind_of(path)
    if kind == "tablet":
        return Station.open(path, secret)
    if kind == "book":
        return Desk.open(path, secret)
    raise ForeignFile("This store is neither a tablet store nor a visit book.")


def new_passphrase(options: Options) -> int:
    """Change a store's passphrase; with the lead's book, a tablet's forgotten one is replaced."""
    if options.book is not None:
        with closing(Desk.open(options.book, passphrase())) as desk:
            desk.reopen_tablet(options.store, changed_passphrase())
    else:
        old = passphrase()
        with Vault.open(options.store, passphrase=old) as vault:
            vault.change_passphrase(old, changed_passphrase())
            vault.compact()  # a new store key: what an old copy's key opens ends here
    print(f"{options.store} has a new passphrase. Older copies of the file still open with the old one.")
    return 0
