"""The words of the ``quietbell`` command and its exit status.

0 done; 2 wrong use; 3 input refused; 4 wrong passphrase; 5 damaged or foreign file; 130 interrupted.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from fieldapp.cli import findings, gathering, nearby, office, preparing, protocols, stores
from fieldapp.cli.say import say_error
from fieldapp.services.child_data import FIELDS
from shared.errors import QuietbellError
from shared.records.standing import Status

INTERRUPTED = 130


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and give its exit status."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    if not words or (words[0] not in COMMANDS and not words[0].startswith("-")):
        words.insert(0, "open")
    options = _parser().parse_args(words)
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        return run(options)
    except QuietbellError as problem:
        say_error(problem, as_json=getattr(options, "json", False))
        return problem.exit_status
    except KeyboardInterrupt:
        print("Stopped. What was recorded before is kept.", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        sys.stderr.close()
        return 0


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError("write the date as 2026-10-14") from None


def _add_open(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("store", nargs="?", type=Path, metavar="STORE", help="a tablet store or a visit book")


def _add_prepare(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("book", type=Path, metavar="BOOK", help="the visit book to make")
    parser.add_argument("--roster", type=Path, required=True, metavar="FILE", help="the school's class list")
    parser.add_argument("--school", required=True, metavar="NAME")
    parser.add_argument("--protocol", required=True, metavar="NAME", help="a preset's name, or a .toml file")
    parser.add_argument(
        "--date", type=_day, action="append", metavar="D", help="a day of the visit; may be given again"
    )
    parser.add_argument(
        "--only-due", action="store_true", help="leave out grades that the protocol does not name"
    )
    parser.add_argument(
        "--date-order", choices=("mdy", "dmy"), help="how the roster writes 3/4/2018, if unclear"
    )
    _add_json(parser)


def _add_roster(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument(
        "--roster", type=Path, required=True, metavar="FILE", help="the school's newer class list"
    )
    parser.add_argument(
        "--date-order", choices=("mdy", "dmy"), help="how the roster writes 3/4/2018, if unclear"
    )
    _add_json(parser)


def _add_handout(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("--tablet", required=True, metavar="NAME")
    parser.add_argument("--out", type=Path, required=True, metavar="FILE")
    parser.add_argument("--replace", action="store_true", help="overwrite a file that is there")
    parser.add_argument(
        "--class",
        dest="classes",
        action="append",
        default=[],
        metavar="CLASS",
        help="only this class; may be given again",
    )


def _add_receive(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("handout", type=Path, metavar="HANDOUT")
    parser.add_argument("--store", type=Path, required=True, metavar="STORE", help="the tablet store to make")


def _add_play(parser: argparse.ArgumentParser) -> None:
    _add_store(parser)
    parser.add_argument("script", type=Path, metavar="SCRIPT.jsonl")


def _add_status(parser: argparse.ArgumentParser) -> None:
    _add_store(parser)
    _add_json(parser)


def _add_give_back(parser: argparse.ArgumentParser) -> None:
    _add_store(parser)
    parser.add_argument("--out", type=Path, required=True, metavar="FILE")


def _add_gather(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("returns", nargs="+", type=Path, metavar="RETURN")
    _add_json(parser)


def _add_listen(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("--port", type=int, default=nearby.PORT, metavar="P", help="%(default)s unless given")
    parser.add_argument(
        "--address", default="", metavar="A", help="listen only at this address of this device"
    )
    parser.add_argument(
        "--once",
        type=int,
        nargs="?",
        const=1,
        metavar="N",
        help="end when a tablet has sent everything; with N, when so many have",
    )
    parser.add_argument("--for", dest="seconds", type=float, metavar="SECONDS", help="end after so long")
    _add_json(parser)


def _add_send(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("store", type=Path, metavar="STORE", help="the tablet store")
    parser.add_argument("--to", required=True, metavar="ADDRESS", help="as the lead's device shows it")
    _add_json(parser)


def _add_doubts(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("--joined", action="store_true", help="list what the evidence alone joined instead")
    _add_json(parser)


def _add_settle(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("doubt", metavar="DOUBT", help="its id, as 'doubts' prints it")
    parser.add_argument("decision", metavar="DECISION", help="one of the words that 'doubts' prints, or undo")


def _add_children(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("--search", default="", metavar="TEXT", help="two letters or more of either name")
    parser.add_argument("--class", dest="class_name", metavar="CLASS", help="only this class")
    parser.add_argument("--status", choices=tuple(Status), help="only where the child stands so")
    _add_json(parser)


def _add_correct(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("child", metavar="CHILD", help="a student number, or the id that 'children' prints")
    for field in FIELDS:
        name = {"student_number": "number", "class_name": "class"}.get(field, field)
        if field == "address":
            words = "a line of the address; may be given again"
            parser.add_argument("--address", action="append", metavar="LINE", help=words)
        else:
            parser.add_argument(f"--{name}", dest=field, metavar="TEXT", help="empty: not known")


def _add_close(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    for option, words in (
        ("--unused", "this tablet was not used; may be given again"),
        ("--lost", "this tablet is lost; may be given again"),
        ("--expect", "take such a word on a tablet back; may be given again"),
    ):
        parser.add_argument(option, action="append", default=[], metavar="TABLET", help=words)
    parser.add_argument("--reopen", action="store_true", help="take the closing back")
    _add_json(parser)


def _add_findings(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("child", metavar="CHILD", help="the child's student number")
    parser.add_argument(
        "file",
        nargs="?",
        type=Path,
        metavar="FILE.json",
        help="the audiogram; without it, what is there is shown",
    )
    parser.add_argument("--day", type=_day, metavar="D", help="when it came back; today unless given")
    parser.add_argument("--correct", metavar="ID", help="the audiogram that this one corrects")
    parser.add_argument(
        "--take-out", metavar="ID", help="the audiogram that is not this child's, or is wrong"
    )
    _add_json(parser)


def _add_papers(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("--out", type=Path, required=True, metavar="DIR")
    parser.add_argument("--only", nargs="+", action="extend", metavar="NAME", help="only these papers")
    parser.add_argument("--page", choices=("letter", "a4"), default="letter", help="the page size")
    parser.add_argument("--replace", action="store_true", help="overwrite papers that are in the folder")
    _add_json(parser)


def _add_passphrase(parser: argparse.ArgumentParser) -> None:
    _add_store(parser)
    parser.add_argument(
        "--book", type=Path, metavar="BOOK", help="the lead's book, where a tablet's passphrase is forgotten"
    )


def _add_letterhead(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("--name", help="the office that sends the letters")
    parser.add_argument(
        "--address", action="append", metavar="LINE", help="a line of its address; may be given again"
    )
    parser.add_argument("--phone")
    parser.add_argument("--signer", metavar="NAME", help="printed under the signature")
    parser.add_argument("--role", help="the signer's role")


def _add_export(parser: argparse.ArgumentParser) -> None:
    _add_book(parser)
    parser.add_argument("--format", choices=office.EXPORT_FORMATS, required=True)
    parser.add_argument("--out", type=Path, required=True, metavar="DIR")


def _add_book(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("book", type=Path, metavar="BOOK", help="the visit book")


def _add_store(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("store", type=Path, metavar="STORE", help="a tablet store or a visit book")


def _add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print machine-readable output")


COMMANDS = {
    "open": ("open the touch app (the word may be left out)", _add_open, stores.open_app),
    "prepare": ("make a visit book from a roster", _add_prepare, preparing.prepare),
    "roster": ("take a newer roster into a visit book", _add_roster, preparing.roster),
    "handout": ("make the sealed file for one tablet", _add_handout, preparing.handout),
    "receive": ("take a handout in on a tablet", _add_receive, stores.receive),
    "play": ("run scripted actions on a tablet store", _add_play, stores.play),
    "status": ("counts by status, entries per device, readiness", _add_status, stores.status),
    "give-back": ("make the sealed return for the lead", _add_give_back, stores.give_back),
    "gather": ("take returns into the visit book", _add_gather, gathering.gather),
    "listen": ("gather from tablets over the local network", _add_listen, nearby.listen),
    "send": ("send to the listening lead over the local network", _add_send, nearby.send),
    "doubts": ("list what only a person may decide", _add_doubts, gathering.doubts),
    "settle": ("decide a doubt", _add_settle, gathering.settle),
    "children": ("list the children of a visit book", _add_children, office.children),
    "correct": ("correct what is known of a child", _add_correct, office.correct),
    "close": ("close the visit, or say what is in the way", _add_close, gathering.close),
    "findings": ("enter an examiner's audiogram, or show it", _add_findings, findings.findings),
    "passphrase": (
        "change a store's passphrase, or replace a forgotten one",
        _add_passphrase,
        stores.new_passphrase,
    ),
    "letterhead": ("set who sends the letters", _add_letterhead, office.letterhead),
    "papers": ("print lists and letters as PDF", _add_papers, office.papers),
    "protocol": (
        "list, show, copy and check screening protocols",
        protocols.add_arguments,
        protocols.protocol,
    ),
    "export": ("write the results for other systems", _add_export, office.export),
}


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="quietbell",
        description="Offline tablet app for hearing-screening days in schools.",
        epilog="The passphrase is read from QUIETBELL_PASSPHRASE, or asked for. "
        "Screening is not a diagnosis; local rules and licensed practice come first.",
    )
    subparsers = parser.add_subparsers(metavar="COMMAND", required=True)
    for name, (summary, add_arguments, run) in COMMANDS.items():
        command = subparsers.add_parser(
            name, help=summary, description=summary[0].upper() + summary[1:] + "."
        )
        add_arguments(command)
        command.set_defaults(run=run)
    return parser
