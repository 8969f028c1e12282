"""The office's commands: ``children``, ``correct``, ``letterhead``, ``papers`` and ``export``. No rules here."""

from __future__ import annotations

import argparse
from contextlib import closing

from fieldapp.cli.say import Progress, counted_children, passphrase, say_json, warn
from fieldapp.exports import EXPORTS
from fieldapp.services.child_data import FIELDS, FieldsRefused
from fieldapp.services.desk import Desk
from fieldapp.services.printing import lacks_letterhead, must_be_warned, paper_context, print_papers
from fieldapp.services.roll import rows_of
from shared.errors import Refused, WrongUse

EXPORT_FORMATS = tuple(EXPORTS)
Options = argparse.Namespace


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
    print(counted_children(len(shown)))
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
