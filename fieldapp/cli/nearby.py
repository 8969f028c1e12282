"""What ``listen`` and ``send`` do: gathering over the local network from the command. No rules and no sockets here."""

from __future__ import annotations

import argparse
import json
import sys
import time
from contextlib import closing
from typing import Any

from fieldapp.cli.gathering import gathering_json, print_gathering
from fieldapp.cli.say import Progress, passphrase, say_json
from fieldapp.services.desk import Desk
from fieldapp.services.nearby import PORT, Address, Listener, Sender, Sending, TabletHeard, qr_matrix
from fieldapp.services.station import Station
from shared.collecting import no_collecting

__all__ = ["PORT", "listen", "send"]
Options = argparse.Namespace
_SHADES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def listen(options: Options) -> int:
    """Open the visit book to its tablets until Ctrl-C, for some seconds, or until enough tablets have sent."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        done: set[str] = set()

        def tell(heard: TabletHeard) -> None:
            if heard.state == "done":
                done.add(heard.device)
            if heard.state != "sending" and not options.json:
                print(_line_of(heard), flush=True)

        listener = Listener(desk, address=options.address, port=options.port, tell=tell)
        listener.start()
        _say_where(listener, as_json=options.json)
        until = None if options.seconds is None else time.monotonic() + options.seconds
        try:
            while len(done) < (options.once or len(done) + 1):
                if until is not None and time.monotonic() >= until:
                    break
                listener.work(0.2)
        except KeyboardInterrupt:
            pass
        finally:
            gathered = listener.close()
        doubts = len(desk.doubts())
        if options.json:
            tablets = [_json_of(heard) for heard in listener.heard]
            say_json({"tablets": tablets, **gathering_json(gathered, doubts)})
        else:
            print_gathering(gathered, doubts)
    return 0


def _say_where(listener: Listener, *, as_json: bool) -> None:
    addresses = listener.addresses or (Address("127.0.0.1", listener.port, listener.phrase),)
    if as_json:
        # A document of its own: whoever starts this from a program needs the address before the end.
        where = [str(each) for each in addresses]
        print(json.dumps({"listening": where, "phrase": listener.phrase}), flush=True)
        return
    print(f"Listening at {' or '.join(map(str, addresses))}. Check phrase: {listener.phrase}.")
    print("On each tablet: send to this address, if it shows the same phrase. Ctrl-C ends.", flush=True)
    if sys.stdout.isatty():
        _draw(qr_matrix(addresses[0].qr_text))


def _draw(rows: tuple[tuple[bool, ...], ...]) -> None:
    """A QR code in half blocks, light on the terminal's dark: the modules that are not dark are drawn."""
    blank = (True,) * len(rows[0])
    for upper, lower in zip(rows[::2], (*rows[1::2], blank), strict=False):
        print("".join(_SHADES[not a, not b] for a, b in zip(upper, lower, strict=True)))


def _line_of(heard: TabletHeard) -> str:
    who = f"tablet {heard.tablet}" if heard.tablet else "a caller"
    counts = f"{heard.new} new, {heard.known} known already, {heard.held} of {heard.highest} held"
    if heard.problem is not None:
        return f"{who}: broken off{f' ({counts})' if heard.tablet else ''}. {heard.problem}"
    return f"{who}: {counts}, {heard.told} of others sent back"


def _json_of(heard: TabletHeard) -> dict[str, Any]:
    return {
        "tablet": heard.tablet,
        "device": heard.device,
        "state": heard.state,
        "new": heard.new,
        "known": heard.known,
        "held": heard.held,
        "entries": heard.highest,
        "told": heard.told,
        "problem": None if heard.problem is None else str(heard.problem),
    }


def send(options: Options) -> int:
    """Send a tablet's entries to the listening lead, and take in what others have done."""
    with closing(Station.open(options.store, passphrase())) as station:
        sender = Sender(station, options.to)
        progress = Progress("sending")

        def tell(sending: Sending) -> None:
            progress(sending.sent, f"of {sending.total}; {sending.stage}")

        try:
            with no_collecting():  # a short life: what it makes, it needs to the end
                sent = sender.run(tell)
        finally:
            progress.end()
        if options.json:
            say_json(
                {
                    "tablet": station.visit.tablet,
                    "sent": sent.sent,
                    "new": sent.new,
                    "held": sent.held,
                    "entries": sent.highest,
                    "told": sent.told,
                }
            )
            return 0
        print(
            f"Tablet {station.visit.tablet}: {sent.sent} entries sent, {sent.new} new to the lead, which holds "
            f"{sent.held} of {sent.highest}; {sent.told} entries of others came back."
        )
    return 0
