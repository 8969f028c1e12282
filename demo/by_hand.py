"""What people do on the screens and no command does, for the demo's story.

``resume``: the screener goes on with the child that was in hand when the tablet crashed. ``replies``: the
office writes down what became of rescreens and referrals. ``alarms``: the lead looks at what the station watch
asked for. All call the services that the screens call.

    python -m demo.by_hand MOMENT resume STORE ANSWERS
    python -m demo.by_hand MOMENT replies BOOK REPLIES.jsonl
    python -m demo.by_hand MOMENT alarms BOOK
"""

from __future__ import annotations

import json
import os
import sys
from contextlib import closing
from datetime import date, datetime
from pathlib import Path

from demo.at import set_device_clock
from fieldapp.platform.clock import ScriptClock
from fieldapp.services.desk import Desk
from fieldapp.services.station import Station
from shared.records.entries import Kind


def resume(store: Path, answers: str, passphrase: str, moment: datetime) -> str:
    """Finish the child that the reopened tablet shows; gives what the tablet knew, as signs.

    ``answers`` are those of the whole walk; what the tablet kept must be their beginning.
    """
    with closing(Station.open(store, passphrase, clock=ScriptClock(moment))) as station:
        current = station.current
        if current is None:
            sys.exit("The reopened tablet has no child in hand.")
        _, walk = current
        kept = "".join(action.value for action in walk.actions)
        if not answers.startswith(kept):
            sys.exit(f"The reopened tablet shows {kept}, which is not how {answers} begins.")
        for sign in answers[len(kept) :]:
            if sign == "/":
                station.reseat()
            else:
                station.answer(sign == "+")
        station.finish()
        return kept


def replies(book: Path, file: Path, passphrase: str) -> int:
    """Write the office's follow-up notes down, save the findings that come as an audiogram; gives how many."""
    lines = [json.loads(text) for text in file.read_text("utf-8").splitlines()]
    with closing(Desk.open(book, passphrase)) as desk:
        by_number = {standing.person.student_number: standing.child for standing in desk.standings()}
        desk.ledger.author = "office"
        lines = [line for line in lines if "audiogram" not in line]
        for line in lines:
            day, note = date.fromisoformat(line["day"]), line.get("note", "")
            desk.followup.note_step([by_number[line["child"]]], line["step"], note=note, day=day)
    return len(lines)


def alarms(book: Path, passphrase: str) -> list[dict[str, object]]:
    """What the station watch of each tablet asked for, as the book has it."""
    with closing(Desk.open(book, passphrase)) as desk:
        names = {device.device: device.name for device in desk.devices()}
        return [
            {
                "tablet": names.get(entry.device, "?"),
                "what": entry.body["what"],
                "children": len(entry.body["children"]),
                "missed": len(entry.body["missed"]),
            }
            for entry in desk.ledger.register.entries(Kind.WATCH_RAISED)
        ]


if __name__ == "__main__":
    now = datetime.fromisoformat(sys.argv[1])
    set_device_clock(now)
    secret = os.environ["QUIETBELL_PASSPHRASE"]
    if sys.argv[2] == "resume":
        print(resume(Path(sys.argv[3]), sys.argv[4], secret, now))
    elif sys.argv[2] == "alarms":
        print(json.dumps(alarms(Path(sys.argv[3]), secret)))
    else:
        print(replies(Path(sys.argv[3]), Path(sys.argv[4]), secret))
