"""A book cut off in the middle of gathering: each return is in it whole or not at all, and gathering again ends as
if nothing had happened (invariants 1 and 3)."""

from __future__ import annotations

import shutil

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldapp.services.desk import Desk
from shared.records.standing import Person
from tests.facts import FAIL, PASSPHRASE


def shown(desk):
    return sorted(map(repr, desk.standings())), sorted(doubt.id for doubt in desk.doubts())


@given(data=st.data())
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_cut_anywhere_while_gathering_costs_nothing(make_visit, data):
    visit = make_visit()
    book = visit.folder / "visit.book"
    stations = [visit.tablet(name) for name in "ABC"]
    for station in stations:
        for number in ("S-1", "S-2", "S-3", "S-4"):
            if data.draw(st.booleans()):
                station.walk_script(station.find(number), data.draw(st.sampled_from(["++++++", FAIL])))
        if data.draw(st.booleans()):
            station.add_child(Person("Ada", "Aldr", "2018-03-14", class_name="3B"))
    returns = [visit.give_back(station) for station in stations]
    visit.desk.close()
    shutil.copy(book, visit.folder / "before")
    desk = Desk.open(book, PASSPHRASE, clock=visit.clock)
    desk.gather(returns)
    expected = shown(desk)
    desk.close()
    before, after = (visit.folder / "before").read_bytes(), book.read_bytes()
    # The journal only grows, so a power cut leaves some beginning of what was written.
    first_new = next(
        (n for n, (old, new) in enumerate(zip(before, after, strict=False)) if old != new), len(before)
    )
    last_new = len(after.rstrip(b"\0"))
    cut = data.draw(st.integers(first_new, max(first_new, last_new)))
    book.write_bytes(after[:cut])
    visit.desk = Desk.open(book, PASSPHRASE, clock=visit.clock)
    counters = {device.device: device.entries for device in visit.desk.devices() if device.device}
    for station in stations:
        assert counters.get(station.ledger.device, 0) in (0, station.ledger.counter)
    visit.desk.gather(data.draw(st.permutations(returns)))
    assert shown(visit.desk) == expected
