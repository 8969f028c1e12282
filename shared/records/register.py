"""The register: every entry a device knows, and from them every child, folded anew only where entries came.

Entries may be added in any order, any number of times; the register of the same entries is always the same.
Two different entries under one id are both kept (``variants``) and both count: see ``histories``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from shared.hearing.protocol import Protocol
from shared.records.entries import LISTINGS, Entry, Kind
from shared.records.fold import fold_child
from shared.records.histories import told_apart
from shared.records.people import Decision, Joining, join, person_from, standing_decisions
from shared.records.standing import Person, Standing

_DECISIONS = (Kind.SAME_CHILD, Kind.DIFFERENT_CHILD)
_PEOPLE = (Kind.CHILD_CORRECTED, Kind.CHILD_LEFT)


class Register:
    """All entries of one visit as one device knows them."""

    def __init__(self) -> None:
        self._entries: dict[str, Entry] = {}  # as they are folded
        self.variants: dict[str, list[Entry]] = {}  # of the ids that were used twice, as they were written
        # Everything under each id, as it was written, of the devices that used ids twice.
        self._doubled: dict[str, dict[str, list[Entry]]] = {}
        self._of_record: dict[str, list[str]] = {}
        self._of_device: dict[str, list[str]] = {}
        self._numbers: dict[str, str] = {}
        self._newest: dict[tuple[str, Kind], tuple[int, str]] = {}  # by device: its counter and id
        self._decisions: dict[str, Decision] = {}
        self.people_changes = (
            0  # grows with every entry that lists, adds or corrects a child, or did so before
        )
        self._withdrawn: set[str] = set()  # decisions that were taken back
        self._joining: Joining | None = None
        self._group_of: dict[str, tuple[str, ...]] = {}
        self._standings: dict[str, Standing] = {}
        self._protocol: Protocol | None = None
        self._prepared: Entry | None = None
        self._people: tuple[int, dict[str, Person]] | None = None

    def __len__(self) -> int:
        """How many ids are known."""
        lone = sum(len(ids) for device, ids in self._of_device.items() if device not in self._doubled)
        return lone + sum(map(len, self._doubled.values()))

    def __contains__(self, entry_id: str) -> bool:
        return entry_id in self._entries

    def entry(self, entry_id: str) -> Entry:
        """The entry of that id; raises ``KeyError`` where there is none."""
        return self._entries[entry_id]

    def entries(self, *kinds: Kind) -> list[Entry]:
        """All entries (of ``kinds``, where given) in stamp order."""
        chosen = (e for e in self._entries.values() if not kinds or e.kind in kinds)
        return sorted(chosen, key=lambda entry: (entry.stamp, entry.id))

    def all_variants(self) -> list[Entry]:
        """All entries in stamp order as they were written, with every variant of an id that has several."""
        lone = (entry for entry in self._entries.values() if entry.device not in self._doubled)
        doubled = (e for ids in self._doubled.values() for several in ids.values() for e in several)
        return sorted((*lone, *doubled), key=lambda entry: (entry.stamp, entry.id))

    def newest_of(self, device: str, *kinds: Kind) -> Entry | None:
        """The newest entry of those kinds that the device wrote."""
        found = filter(None, (self._newest.get((device, kind)) for kind in kinds))
        newest = max(found, default=None)
        return self._entries[newest[1]] if newest is not None else None

    def about(self, child: str) -> list[Entry]:
        """All entries about the child that the record belongs to, in stamp order."""
        ids = (i for record in self.records_of(child) for i in self._of_record.get(record, ()))
        return sorted((self._entries[i] for i in ids), key=lambda entry: (entry.stamp, entry.id))

    def add(self, entries: Iterable[Entry]) -> list[Entry]:
        """Take entries in; gives those that were new (a new variant of a known id is new)."""
        fresh: list[Entry] = []
        doubled = False
        for entry in entries:
            if not self.is_news(entry):
                continue
            fresh.append(entry)
            if entry.id in self._entries or entry.device in self._doubled:
                self._take_doubled(entry)
                doubled = True
            else:
                self._take(entry)
        if doubled:
            self._tell_apart()
        return fresh

    def is_news(self, entry: Entry) -> bool:
        """Whether ``add`` would take the entry in."""
        if entry.device in self._doubled:
            return entry not in self._doubled[entry.device].get(entry.id, ())
        known = self._entries.get(entry.id)
        return known is None or known != entry

    def _take(self, entry: Entry) -> None:
        self._entries[entry.id] = entry
        self._of_device.setdefault(entry.device, []).append(entry.id)
        self._index(entry)

    def _take_doubled(self, entry: Entry) -> None:
        """Take in an entry of a device that has used ids twice."""
        if entry.device not in self._doubled:
            own = self._of_device.get(entry.device, ())
            self._doubled[entry.device] = {each: [self._entries[each]] for each in own}
        several = self._doubled[entry.device].setdefault(entry.id, [])
        several.append(entry)
        if len(several) > 1:
            several.sort(key=Entry.canonical)
            self.variants[entry.id] = several

    def _tell_apart(self) -> None:
        """Index everything anew, every history of a doubled device by itself."""
        lone = [entry for entry in self._entries.values() if entry.device not in self._doubled]
        variants, doubled, changes = self.variants, self._doubled, self.people_changes
        Register.__init__(self)
        self.variants, self._doubled, self.people_changes = variants, doubled, changes
        for entry in (*lone, *(e for ids in doubled.values() for e in told_apart(ids.values()))):
            self._take(entry)

    def _index(self, entry: Entry) -> None:
        this, kind_of_device = (entry.counter, entry.id), (entry.device, entry.kind)
        if this > self._newest.get(kind_of_device, (0, "")):
            self._newest[kind_of_device] = this
        for record in entry.subjects:
            self._of_record.setdefault(record, []).append(entry.id)
            self._stale(record)
        if entry.kind in LISTINGS or entry.kind in _PEOPLE:
            self._renumber(str(entry.child))
        elif entry.kind in _DECISIONS and (decision := Decision.from_entry(entry)):
            self._decisions[entry.id] = decision
            self._joining = None
        elif entry.kind is Kind.DECISION_WITHDRAWN:
            self._withdrawn.add(str(entry.body["decision"]))
            self._joining = None
        elif entry.kind is Kind.VISIT_PREPARED:
            self._prepare(self.entries(Kind.VISIT_PREPARED)[-1])

    def _stale(self, record: str) -> None:
        for member in self._group_of.get(record, (record,)):
            self._standings.pop(member, None)

    def _renumber(self, record: str) -> None:
        self.people_changes += 1
        listing = self._entries.get(record)
        if listing is None or listing.kind not in LISTINGS:
            return
        changes = [self._entries[i] for i in self._of_record.get(record, ())]
        if len(changes) > 1:
            changes.sort(key=lambda entry: (entry.stamp, entry.id))
        number = person_from(listing, changes).student_number
        if record not in self._numbers or self._numbers[record] != number:
            self._numbers[record] = number
            self._joining = None

    def _prepare(self, prepared: Entry) -> None:
        if prepared is not self._prepared:
            self._prepared = prepared
            self._protocol = Protocol.from_dict(prepared.body["protocol"])
            self._standings.clear()

    @property
    def visit(self) -> Mapping[str, Any]:
        """The body of the newest visit-prepared entry (empty before there is one)."""
        return self._prepared.body if self._prepared else {}

    @property
    def protocol(self) -> Protocol:
        """The protocol of the visit; raises ``LookupError`` before the visit is prepared."""
        if self._protocol is None:
            raise LookupError("no visit has been prepared")
        return self._protocol

    @property
    def joining(self) -> Joining:
        """How records make children, as far as is known."""
        if self._joining is None:
            before = set(self._group_of.values())
            self._joining = join(self._numbers, self.decisions)
            self._group_of = {record: group for group in self._joining.groups for record in group}
            for group in before ^ set(self._joining.groups):
                for record in group:
                    self._standings.pop(record, None)
        return self._joining

    @property
    def decisions(self) -> list[Decision]:
        """Every written decision on pairs of records that was not taken back."""
        return [each for each in self._decisions.values() if each.entry not in self._withdrawn]

    def stands(self, decision: str) -> bool:
        """Whether the decision with that entry id was not taken back."""
        return decision not in self._withdrawn

    def automatic_joins(self) -> set[tuple[str, str]]:
        """The pairs that stand joined by automatic evidence."""
        standing = standing_decisions(self.decisions)
        return {pair for pair, decision in standing.items() if decision.same and decision.automatic}

    def people(self) -> Mapping[str, Person]:
        """The person that each record describes by itself, before any joining."""
        if self._people is None or self._people[0] != self.people_changes:
            found: dict[str, Person] = {}
            for record in self._numbers:
                about = (self._entries[i] for i in self._of_record[record])
                told = sorted((e for e in about if e.kind in _PEOPLE), key=lambda e: (e.stamp, e.id))
                found[record] = person_from(self._entries[record], told)
            self._people = (self.people_changes, found)
        return self._people[1]

    def denied(self) -> frozenset[frozenset[str]]:
        """The pairs of records of which whoever added the one was shown the other and said: not this child."""
        said = ((record, self._entries[record].body.get("unlike")) for record in self._numbers)
        return frozenset(
            frozenset((record, str(other)))
            for record, others in said
            if isinstance(others, list)
            for other in others
            if other != record
        )

    def records_of(self, record: str) -> tuple[str, ...]:
        """All records joined with ``record``, itself included."""
        _ = self.joining
        return self._group_of.get(record, (record,))

    def is_child(self, record: str) -> bool:
        """Whether a listing or adding entry of that id is known."""
        return record in self._numbers

    def standing(self, record: str) -> Standing:
        """Where the child that ``record`` belongs to stands; raises ``KeyError`` for an unknown record."""
        if record not in self._numbers:
            raise KeyError(record)
        group = self.records_of(record)
        if group[0] not in self._standings:
            entries = (self._entries[i] for member in group for i in self._of_record.get(member, ()))
            standing = fold_child(group, entries, self.protocol)
            for member in group:
                self._standings[member] = standing
        return self._standings[group[0]]

    def standings(self) -> list[Standing]:
        """Every child once."""
        return [self.standing(group[0]) for group in self.joining.groups]

    def entries_of(self, device: str) -> list[Entry]:
        """A device's entries as they were written, in the order of their counters, one for each."""
        if device in self._doubled:
            entries = [several[0] for several in self._doubled[device].values()]
        else:
            entries = [self._entries[entry_id] for entry_id in self._of_device.get(device, ())]
        return sorted(entries, key=lambda entry: entry.counter)

    def is_doubled(self, device: str) -> bool:
        """Whether the device used ids twice, so that only all of its entries together tell its histories apart."""
        return device in self._doubled
