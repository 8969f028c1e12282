"""What each command does with the services: open, call, print. One function a command; no rules here."""

from __future__ import annotations

import argparse
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

from fieldapp.cli.protocols import own_protocols
from fieldapp.cli.say import (
    Progress,
    changed_passphrase,
    counted,
    passphrase,
    say_json,
    tablet_passphrase,
    warn,
)
from fieldapp.exports import EXPORTS
from fieldapp.platform.clock import DeviceClock, ScriptClock
from fieldapp.platform.files import read_whole
from fieldapp.services.child_data import FIELDS, FieldsRefused
from fieldapp.services.closing import Aside
from fieldapp.services.desk import Desk, Gathering
from fieldapp.services.exemptions import due_for, exempt
from fieldapp.services.presets import load_protocol
from fieldapp.services.printing import lacks_letterhead, must_be_warned, paper_context, print_papers
from fieldapp.services.roll import rows_of
from fieldapp.services.script import Player
from fieldapp.services.station import Station
from shared.errors import ForeignFile, Refused, WrongUse
from shared.hearing.due import DUE_REASONS, exemption_over
from shared.records.standing import Status
from shared.vault import Vault, kind_of

EXPORT_FORMATS = tuple(EXPORTS)
Options = argparse.Namespace
_OVER = DUE_REASONS["exemption-over"]


def open_app(options: Options) -> int:
    """Open the touch app."""
    from fieldapp.app import run  # Kivy opens a window when imported, so only here

    run(options.store)
    return 0


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
        print(f"{desk.school}: the new visit book {options.book} holds {_children(len(chosen))}.")
        of = f", a local copy of {protocol.copy_of.title}" if protocol.copy_of else ""
        print(f"Protocol {protocol.name}: {protocol.title}{of}. Source: {protocol.source}.")
        if not protocol.verified:
            print("  This protocol has not been verified by a person. Check it against your local rules.")
        if len(due) < len(people):
            what = "left out" if options.only_due else "on it all the same (see --only-due)"
            print(f"In grades that the protocol does not name: {_children(len(people) - len(due))}; {what}.")
        exempt_now, _over = exempt(desk.standings(), protocol, max(dates))
        if exempt_now:
            print(f"Exempt by what is on file: {_children(exempt_now)}.")
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
    print(f"Tablet {options.tablet}: the handout {options.out} holds {_children(children)}.")
    return 0


def receive(options: Options) -> int:
    """Take a handout in on a tablet."""
    with closing(Station.receive(options.handout, options.store, passphrase())) as station:
        visit = station.visit
        print(f"Tablet {visit.tablet}, {visit.school}: {_children(len(station.standings()))} on its list.")
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
        print(f"Tablet {station.visit.tablet}: {lines_played} played, {_children(played.screened)} screened.")
    return 0


def status(options: Options) -> int:
    """Counts by status, entries per device, readiness."""
    with closing(open_store(options.store, passphrase())) as service:
        told = _status_of(service)
    if options.json:
        say_json(told)
        return 0
    print(f"{told['school']}: {_children(told['children'])}")
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
    statuses = {status.value: 0 for status in Status}
    for standing in standings:
        statuses[standing.status.value] += 1
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


def give_back(options: Options) -> int:
    """Make the sealed return for the lead."""
    with closing(Station.open(options.store, passphrase())) as station:
        count = station.give_back(options.out)
        print(
            f"Tablet {station.visit.tablet}: the return {options.out} holds {counted(count, 'entry', 'entries')}."
        )
    return 0


def gather(options: Options) -> int:
    """Take returns into the visit book; exit status of the first refused return, if any was."""
    progress = Progress("gathering", len(options.returns))
    with closing(Desk.open(options.book, passphrase())) as desk:
        try:
            gathered = desk.gather(options.returns, progress)
        finally:
            progress.end()
        doubts = desk.doubts()
    if options.json:
        say_json(gathering_json(gathered, len(doubts)))
    else:
        print_gathering(gathered, len(doubts))
    refused = [each.problem.exit_status for each in gathered.returns if each.problem is not None]
    return refused[0] if refused else 0


def gathering_json(gathered: Gathering, doubts: int) -> dict[str, Any]:
    """A gathering, JSON-ready."""
    return {
        "returns": [
            {
                "file": each.file,
                "tablet": each.tablet,
                "new": each.new,
                "known": each.known,
                "entries": each.highest,
                "missing": list(each.missing),
                "problem": None if each.problem is None else str(each.problem),
            }
            for each in gathered.returns
        ],
        "listed": gathered.listed,
        "added": gathered.added,
        "joined": gathered.joined,
        "joined_automatically": len(gathered.joined_automatically),
        "children": gathered.children,
        "statuses": {status.value: count for status, count in gathered.statuses.items()},
        "doubts": doubts,
    }


def print_gathering(gathered: Gathering, doubts: int) -> None:
    """Print a gathering: what each return brought, and the sum."""
    for each in gathered.returns:
        if each.problem is not None:
            print(f"{each.file}: refused. {each.problem}")
            continue
        gaps = f"missing {_ranges(each.missing)}" if each.missing else "none missing"
        print(
            f"tablet {each.tablet}: entries 1 to {each.highest}, {gaps}; {each.new} new, {each.known} known already"
        )
    print(
        f"{gathered.listed} listed + {gathered.added} added - {gathered.joined} joined = {_children(gathered.children)}"
    )
    for status, count in gathered.statuses.items():
        if count:
            print(f"  {status.value:16}{count:6}")
    print(f"  {'sum':16}{sum(gathered.statuses.values()):6}")
    if gathered.joined_automatically:
        print(
            f"{len(gathered.joined_automatically)} joined automatically (to take one apart: doubts BOOK --joined):"
        )
        for first, second, reasons in gathered.joined_automatically:
            print(f"  {first} and {second}: {', '.join(reasons)}")
    waiting = counted(doubts, "doubt", "doubts")
    print(f"{waiting} to be decided by a person: quietbell doubts BOOK" if doubts else "no doubts")


def _ranges(counters: tuple[int, ...]) -> str:
    """Counters as ranges: 3, 7 to 9."""
    parts: list[list[int]] = []
    for counter in counters:
        if parts and counter == parts[-1][1] + 1:
            parts[-1][1] = counter
        else:
            parts.append([counter, counter])
    return ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in parts)


def doubts(options: Options) -> int:
    """List what only a person may decide, or what the evidence alone joined. Names are shown: the lead needs them."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        found = desk.joins() if options.joined else desk.doubts()
        shown = [
            {
                "id": doubt.id,
                "kind": doubt.kind.value,
                "question": doubt.question,
                "about": [desk.describe(subject) for subject in doubt.subjects],
                "reasons": list(doubt.reasons),
                "decisions": list(doubt.decisions),
            }
            for doubt in found
        ]
    if options.json:
        say_json(shown)
        return 0
    for each in shown:
        print(f"{each['id']}  {each['question']}")
        for line in (*each["about"], *each["reasons"]):
            print(f"    {line}")
        print(f"    decide: quietbell settle BOOK {each['id']} {'|'.join(each['decisions'])}")
    print(counted(len(shown), "join", "joins") if options.joined else counted(len(shown), "doubt", "doubts"))
    return 0


def settle(options: Options) -> int:
    """Decide a doubt, or take a decision back with the word ``undo``."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        if options.decision == "undo":
            desk.unsettle(options.doubt)
        else:
            desk.settle(options.doubt, options.decision)
        left = len(desk.doubts())
    done = "is open again" if options.decision == "undo" else f"is settled: {options.decision}"
    print(f"{options.doubt} {done}. Left: {counted(left, 'doubt', 'doubts')}.")
    return 0


def children(options: Options) -> int:
    """List children, by name, class and status. Names are shown: a person looks them up."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        standings = [s for s in desk.standings() if options.status in (None, s.status.value)]
        if options.class_name is not None:
            standings = [s for s in standings if s.person.class_name == options.class_name]
        found = rows_of(standings, None, options.search, by_name=True, limit=len(standings))
    shown = [
        {
            "id": each.child,
            **{name: getattr(each.person, name) for name in FIELDS},
            "status": each.status.value,
        }
        for each in found
    ]
    if options.json:
        say_json(shown)
        return 0
    for each in shown:
        words = (each["class_name"] or "no class", each["born"] or "birth date unknown", each["status"])
        number = each["student_number"] or each["id"]
        print(f"{number}  {each['family']}, {each['given']}; {'; '.join(words)}")
    print(_children(len(shown)))
    return 0


def correct(options: Options) -> int:
    """Correct what is known of a child; a value that cannot be right is refused by its field."""
    typed = {name: value for name in FIELDS if (value := getattr(options, name)) is not None}
    if not typed:
        raise WrongUse("Nothing to correct was given.", todo="Give a field, such as --family NAME.")
    with closing(Desk.open(options.book, passphrase())) as desk:
        found = [s for s in desk.standings() if options.child in (s.person.student_number, *s.records)]
        if not found:
            raise Refused("This book has no such child.", todo="Look it up with: quietbell children BOOK")
        try:
            changed = desk.office.correct(found[0].child, typed)
        except FieldsRefused as refused:
            reasons = (f"{name}: {why}" for name, why in refused.fields.items())
            raise Refused("Some values cannot be right.", kept=refused.kept, todo=" ".join(reasons)) from None
    print(f"Corrected: {', '.join(changed)}." if changed else "Nothing had to be changed.")
    return 0


def close(options: Options) -> int:
    """Close the visit, once nothing is in the way; children without a result are listed. Exit status 3: still open."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        ending = desk.closing
        for why in Aside:
            for name in getattr(options, why.value):
                ending.set_aside(name, why)
        for name in options.expect:
            ending.expect_again(name)
        if options.reopen:
            ending.reopen()
        left = ending.unfinished()
        if not left and not options.reopen and not ending.closed:
            ending.close()
        told = {
            "closed": ending.closed,
            "in_the_way": left,
            "tablets": {state.name: state.aside.value if state.aside else "" for state in ending.tablets()},
            "without_result": [
                {
                    "student_number": each.person.student_number,
                    "given": each.person.given,
                    "family": each.person.family,
                    "class": each.person.class_name,
                    "status": each.status.value,
                }
                for each in ending.without_result()
            ],
        }
    if options.json:
        say_json(told)
    else:
        _print_closing(told)
    return 0 if told["closed"] or options.reopen else 3


def _print_closing(told: dict[str, Any]) -> None:
    for name, why in told["tablets"].items():
        if why:
            print(f"tablet {name}: {'was not used' if why == 'unused' else 'is lost'}")
    print(f"Without a result: {_children(len(told['without_result']))}")
    for each in told["without_result"]:
        words = (each["class"] or "no class", each["student_number"] or "no number", each["status"])
        print(f"  {each['family']}, {each['given']}; {'; '.join(words)}")
    for sentence in told["in_the_way"]:
        print(sentence)
    print("The visit is closed." if told["closed"] else "The visit is open.")


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


def letterhead(options: Options) -> int:
    """Set who sends the letters; what is not given stays as it is."""
    names = ("name", "address", "phone", "signer", "role")
    given = {name: value for name in names if (value := getattr(options, name)) is not None}
    with closing(Desk.open(options.book, passphrase())) as desk:
        desk.office.set_letterhead(**given)
        kept = desk.ledger.about["letterhead"]
    for name in names:
        value = kept.get(name, "")
        print(f"{name}: {', '.join(value) if isinstance(value, list) else value}")
    return 0


def papers(options: Options) -> int:
    """Make the papers, all or some."""
    with closing(Desk.open(options.book, passphrase())) as desk:
        protocol, progress = desk.protocol, Progress("paper")
        try:
            made = print_papers(
                desk,
                options.out,
                only=options.only or (),
                page_size=options.page,
                overwrite=options.replace,
                progress=progress,
            )
            nameless = any(lacks_letterhead(desk, each.name) for each in made)
        finally:
            progress.end()
    if any(must_be_warned(protocol, each.name) for each in made):
        warn("Nobody has compared this protocol with the rule in force: ask the lead before letters go home.")
    if nameless:
        warn(
            "The letterhead is empty: the letters name no office and no telephone. See: quietbell letterhead"
        )
    if options.json:
        say_json([{"paper": each.name, "file": str(each.path), "pages": each.pages} for each in made])
        return 0
    for each in made:
        print(f"{each.path}: {each.pages} pages" if each.pages != 1 else f"{each.path}: 1 page")
        for name in each.unprintable:
            print(f"  not printable as written: {name}")
    return 0


def export(options: Options) -> int:
    """Write the results for other systems."""
    if options.out.exists() and not options.out.is_dir():
        raise WrongUse("The place for the export is not a folder.", todo="Give a folder.")
    with closing(Desk.open(options.book, passphrase())) as desk:
        for file in EXPORTS[options.format](options.out, desk.standings(), paper_context(desk)):
            print(file)
    return 0


def _children(count: int) -> str:
    return counted(count, "child", "children")
