"""What a device has in hand, read from its entries: a test begun and not ended, and those of its parts that stand."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from fieldapp.services.ledger import Ledger
from shared.records.entries import Entry, Kind


def begun_here(ledger: Ledger, begun: Kind, ended: Collection[Kind], *, named: str) -> Entry | None:
    """This device's newest entry of kind ``begun``, or None where it has ended.

    ``named``: the field in which an entry that ends names the one that began.
    """
    newest = ledger.register.newest_of(ledger.device, begun)
    ending = ledger.register.newest_of(ledger.device, *ended)
    if newest is not None and ending is not None and ending.body.get(named) == newest.id:
        return None
    return newest


def not_withdrawn(entries: Iterable[Entry], kinds: Collection[Kind], *, by: Kind, naming: str) -> list[Entry]:
    """The entries of these kinds that no entry of kind ``by`` takes back.

    ``naming``: the field in which it names the entry that it takes back.
    """
    entries = list(entries)
    withdrawn = {entry.body.get(naming) for entry in entries if entry.kind is by}
    return [entry for entry in entries if entry.kind in kinds and entry.id not in withdrawn]
