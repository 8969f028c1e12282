"""The lead's commands before the day: ``prepare``, ``roster`` and ``handout``. Open, call, print; no rules here."""

from __future__ import annotations

import argparse
from contextlib import closing
from datetime import date

from fieldapp.cli.protocols import own_protocols
from fieldapp.cli.say import counted, counted_children, passphrase, say_json, tablet_passphrase
from fieldapp.platform.clock import DeviceClock
from fieldapp.services.desk import Desk
from fieldapp.services.exemptions import due_for, exempt
from fieldapp.services.presets import load_protocol
from shared.errors import Refused
from shared.hearing.due import DUE_REASONS, exemption_over

Options = argparse.Namespace
_OVER = DUE_REASONS["exemption-over"]


def prepare(options: Options) -> int:
    """Make a visit book from a roster, and say which rows were not taken."""
    from fieldapp.roster import read_roster

    clock = DeviceClock()
    today = clock.now().date()
    dates: list[date] = options.date or [today]
    protocol = load_protocol(options.protocol, own_protocols().folder)
    reading = read_roster(options.roster, date_order=options.date_order, today=max(dates))
    people = [row.person for row in reading.rows]
    due = [person for person in people if due_for(protocol, person, max(dates))]
    over = [row.line for row in reading.rows if exemption_over(protocol, row.person.exemptions, max(dates))]
    chosen = due if options.only_due else people
    desk = Desk.prepare(
        options.book,
        passphrase("Passphrase for the new visit book: ", new=True),
        school=options.school,
        people=chosen,
        protocol=protocol,
        dates=sorted(dates),
        clock=clock,
    )
    with closing(desk):
        problems = [{"line": problem.line, "reason": problem.reason} for problem in reading.problems]
        if options.json:
            say_json(
                {
                    "school": desk.school,
                    "children": len(chosen),
                    "not_due": len(people) - len(due),
                    "exempt": exempt(desk.standings(), protocol, max(dates))[0],
                    "exemptions_over": [{"line": line, "reason": _OVER} for line in over],
                    "problems": problems,
                    "notes": list(reading.notes),
                    "protocol": {
                        "name": protocol.name,
                        "source": protocol.source,
                        "verified": protocol.verified,
                    },
                }
            )
            return 0
        print(f"{desk.school}: the new visit book {options.book} holds {counted_children(len(chosen))}.")
        of = f", a local copy of {protocol.copy_of.title}" if protocol.copy_of else ""
        print(f"Protocol {protocol.name}: {protocol.title}{of}. Source: {protocol.source}.")
        if not protocol.verified:
            print("  This protocol has not been verified by a person. Check it against your local rules.")
        if len(due) < len(people):
            what = "left out" if options.only_due else "on it all the same (see --only-due)"
            print(
                f"In grades that the protocol does not name: {counted_children(len(people) - len(due))}; {what}."
            )
        exempt_now, _over = exempt(desk.standings(), protocol, max(dates))
        if exempt_now:
            print(f"Exempt by what is on file: {counted_children(exempt_now)}.")
        for line in over:
            print(f"  line {line}: due again, {_OVER}")
        for note in reading.notes:
            print(f"  {note}")
        if problems:
            print(f"Not taken: {counted(len(problems), 'row', 'rows')}")
        for problem in problems:
            print(f"  line {problem['line']}: {problem['reason']}")
    return 0


def roster(options: Options) -> int:
    """Take a newer roster into a visit book."""
    from fieldapp.roster import read_roster

    with closing(Desk.open(options.book, passphrase())) as desk:
        today = desk.ledger.clock.now().date()
        reading = read_roster(options.roster, date_order=options.date_order, today=today)
        update = desk.office.update_roster(reading.rows)
    problems = [{"line": each.line, "reason": each.reason} for each in (*reading.problems, *update.problems)]
    numbers = {
        name: getattr(update, name)
        for name in ("added", "corrected", "left", "returned", "unchanged", "exempt", "due_again")
    }
    if options.json:
        say_json({**numbers, "problems": problems})
        return 0
    print(", ".join(f"{count} {name.replace('_', ' ')}" for name, count in numbers.items()))
    for problem in problems:
        print(f"  line {problem['line']}: {problem['reason']}")
    return 0


def handout(options: Options) -> int:
    """Make the sealed file for one tablet; one that is there may be another visit's, so it is not overwritten."""
    if options.out.exists() and not options.replace:
        raise Refused(
            f"There is a file {options.out} already.",
            kept="Nothing was overwritten.",
            todo="Choose another name, or say --replace.",
        )
    with closing(Desk.open(options.book, passphrase())) as desk:
        children = desk.hand_out(options.tablet, options.out, tablet_passphrase(), classes=options.classes)
    print(f"Tablet {options.tablet}: the handout {options.out} holds {counted_children(children)}.")
    return 0
