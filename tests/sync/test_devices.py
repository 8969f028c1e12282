"""What a book remembers of a tablet's returns, told apart from all of them kept."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from sync.devices import remembered, rolled_back
from sync.returns import Return

MORNING = datetime(2026, 10, 14, 8, tzinfo=UTC)
made = st.tuples(st.integers(0, 40), st.integers(0, 6))  # minutes, the newest counter


def returned(minutes: int, highest: int) -> Return:
    at = (MORNING + timedelta(minutes=minutes)).isoformat(timespec="seconds")
    return Return("v", "A", "d", "", "", at, highest, ())


@given(st.lists(made, min_size=1, max_size=30))
def test_the_few_returns_that_are_kept_say_what_all_of_them_would(times: list[tuple[int, int]]) -> None:
    record: dict[str, object] = {}
    for each in times:
        record = remembered(record, returned(*each), "")
    every = [(returned(*each).made_at, each[1]) for each in times]
    kept = record["returns"]
    assert rolled_back(kept) == rolled_back(every)  # type: ignore[arg-type]
    assert len(kept) <= 2 * len({highest for _, highest in times})  # type: ignore[arg-type]


def test_a_day_of_sending_over_the_network_leaves_two() -> None:
    record: dict[str, object] = {}
    for minute in range(300):
        record = remembered(record, returned(minute, 500), "")
    assert [at[11:16] for at, _ in record["returns"]] == ["08:00", "12:59"]  # type: ignore[union-attr,attr-defined,str-unpack]
