"""The invented district through the real commands, from the rosters to the replies; compared at every stage.

Two visit books, ten tablets, six days. What goes wrong on the way (a dead earphone, a crash, a wrong clock, a
return handed in twice) is played for real, and the answer of the app to each is checked.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from demo.commands import Quietbell
from demo.compare import audiogram_faults, child_faults, roster_faults, status_faults, yearly_faults
from demo.day import zone_of
from demo.district import PROTOCOL_FILE, Round, Visit, make_district
from demo.lead import open_doubts, set_letterhead, settle_same_child, tablets_out
from demo.recount import yearly
from fieldapp.services.presets import load_protocol


@dataclass(slots=True)
class VisitStory:
    """One school's story as the app tells it."""

    visit: Visit
    book: str
    stages: list[dict[str, Any]] = field(default_factory=list)  # ``status`` after each round
    settled: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    events: list[str] = field(default_factory=list)  # what went wrong, and how it ended
    papers: list[dict[str, Any]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


@dataclass(slots=True)
class DistrictStory:
    """Both schools."""

    visits: list[VisitStory]

    @property
    def faults(self) -> list[str]:
        """Every difference between the app and the recount, with its school."""
        return [f"{story.visit.key}: {fault}" for story in self.visits for fault in story.faults]


def play_district(folder: Path, *, shown: bool = True) -> DistrictStory:
    """Play the whole district below ``folder``."""
    visits = make_district(folder / "scripts", load_protocol(str(PROTOCOL_FILE)))
    shutil.copy(PROTOCOL_FILE, folder / "scripts")
    return DistrictStory([_Player(folder, visit, shown).play() for visit in visits])


class _Player:
    """Plays one visit."""

    def __init__(self, folder: Path, visit: Visit, shown: bool) -> None:
        self.folder, self.visit = folder, visit
        self.run = Quietbell(folder, moment(visit.rounds[0].day - timedelta(days=2), 14), shown)
        self.story = VisitStory(visit, f"{visit.key}/visit.book")
        self.off = {visit.mishaps.wrong_clock: timedelta(hours=1)} if visit.mishaps.wrong_clock else {}

    def play(self) -> VisitStory:
        """From the roster to the papers."""
        visit, run, book = self.visit, self.run, self.story.book
        for place in ("carried", "tablets"):
            (self.folder / visit.key / place).mkdir(parents=True)
        first = visit.rounds[0]
        run.say(f"{visit.school.name}: the lead prepares the visit")
        prepared = run.json(
            *("prepare", book, "--roster", visit.roster.path.relative_to(self.folder)),
            *("--school", visit.school.name, "--protocol", f"scripts/{PROTOCOL_FILE.name}"),
            *("--date", first.day.isoformat()),
        )
        self._fault("roster", roster_faults(visit.roster, prepared))
        for each in visit.rounds[:-1]:
            self._round(each)
        self._replies(visit.rounds[-1])
        self._close()
        return self.story

    def _round(self, this: Round) -> None:
        """One day: tablets out, the day played, returns in, doubts settled, numbers compared."""
        visit, run, book = self.visit, self.run, self.story.book
        first_day = this is visit.rounds[0]
        run.say(f"{visit.school.name}: {this.title} on {len(this.scripts)} tablets")
        run.moment = moment(this.day - timedelta(days=1), 15)
        tablets_out(run, book, visit.key, this.scripts, visit.classes_of if first_day else {}, self.off)
        run.moment = moment(this.day, 14)
        for name, script in this.scripts.items():
            self._tablet_day(name, script)
        returns = [self._file("carried", name, "return") for name in this.scripts]
        gathered = run.json("gather", book, *returns)
        self._gathered(gathered, len(returns))
        if joined := gathered["joined_automatically"]:
            words = (
                "1 added record was joined to a listed child"
                if joined == 1
                else f"{joined} added records were joined to listed children"
            )
            if first_day:
                self._event(f"{words} on the evidence alone; each can be taken apart again.")
        if first_day and visit.mishaps.returned_twice:
            again = run.json("gather", book, self._file("carried", visit.mishaps.returned_twice, "return"))
            new = again["returns"][0]["new"]
            self._event(
                f"The return of tablet {visit.mishaps.returned_twice} is handed in twice: {new} new entries."
            )
            self._fault("return handed in twice", [] if new == 0 else [f"{new} new entries"])
        if first_day:
            self.story.settled += settle_same_child(run, book, visit.same)
            self._watched()
        self._compare(this)

    def _tablet_day(self, name: str, script: Path) -> None:
        store, off = self._file("tablets", name, "store"), self.off.get(name, timedelta(0))
        if name == self.visit.mishaps.crashed:
            self._crash(store, script)
        else:
            self.run("play", store, script.relative_to(self.folder))
        self.run("give-back", store, "--out", self._file("carried", name, "return"), off=off)

    def _crash(self, store: str, script: Path) -> None:
        """The tablet dies after three answers of a child; it is opened again and goes on from there."""
        lines = script.read_text("utf-8").splitlines(keepends=True)
        place = next(
            place for place, line in enumerate(lines) if place >= 25 and '"++++++"' in line and '"S-' in line
        )
        line = json.loads(lines[place])
        rest = script.with_name(f"{script.stem}-after-the-crash.jsonl")
        rest.write_text("".join(lines[place + 1 :]), "utf-8")
        self.run("play", store, script.relative_to(self.folder), kill=f"{line['child']}:3")
        reopened = Quietbell(self.folder, datetime.fromisoformat(line["at"]), self.run.shown)
        kept = reopened.by_hand(
            f"tablet {store} is opened again; the screener goes on with the same child",
            *("resume", store, line["answers"]),
        ).strip()
        self._fault("crash", [] if kept == "+++" else [f"the reopened tablet shows {kept or 'nothing'}"])
        self._event(
            f"Tablet {self.visit.mishaps.crashed} crashes in the middle of a child. Reopened, it shows the same "
            f"child with its {len(kept)} answers, and goes on."
        )
        self.run("play", store, rest.relative_to(self.folder))

    def _gathered(self, gathered: dict[str, Any], returns: int) -> None:
        """No return was refused, none lacks an entry, and what the book holds adds up."""
        for each in gathered["returns"]:
            if each["problem"] or each["missing"]:
                self._fault(each["file"], [f"{each['problem']}, missing {each['missing']}"])
        left = gathered["listed"] + gathered["added"] - gathered["joined"]
        if len(gathered["returns"]) != returns or left != gathered["children"]:
            self._fault("gather", [f"listed + added - joined is {left}, not {gathered['children']}"])

    def _watched(self) -> None:
        """What the station watch asked for, beside what the scripts let fail."""
        alarms = json.loads(
            self.run.by_hand("the lead looks at the station watch", "alarms", self.story.book)
        )
        expected = {(t.tablet, alarm.words()) for t in self.visit.first_day for alarm in t.alarms}
        found = {(alarm["tablet"], alarm["what"]) for alarm in alarms}
        if found != expected:
            self._fault("station watch", [f"asked for {sorted(found)}, expected {sorted(expected)}"])
        for alarm in alarms:
            self._event(
                f'Tablet {alarm["tablet"]}, station watch: "{alarm["what"]}" {alarm["missed"]} children are '
                "walked again with spare equipment."
            )

    def _replies(self, this: Round) -> None:
        self.run.say(f"{self.visit.school.name}: the office follows the referrals and prints")
        self.run.moment = moment(this.day + timedelta(days=1), 9)
        file = self.visit.replies.relative_to(self.folder)
        self.run.by_hand("the office notes the replies", "replies", self.story.book, file)
        for note in self._audiograms():
            reply = file.with_name(note["audiogram"])
            self.run("findings", self.story.book, note["child"], reply, "--day", note["day"])
        self._compare(this)

    def _audiograms(self) -> list[dict[str, str]]:
        """The replies that came with an examiner's audiogram."""
        return [note for note in self.visit.notes() if "audiogram" in note]

    def _compare(self, this: Round) -> None:
        status = self.run.json("status", self.story.book)
        self.story.stages.append(status)
        listed = len(self.visit.roster.listed)
        self._fault(this.title, status_faults(listed, this.recount, status))

    def _close(self) -> None:
        """Doubts that are left, papers, exports; every child once more, by name."""
        run, story = self.run, self.story
        story.doubts = open_doubts(run, story.book)
        wrong = self.visit.mishaps.wrong_clock
        if wrong:
            told = [doubt for doubt in story.doubts if f"clock of tablet {wrong}" in doubt]
            self._fault("wrong clock", [] if told else ["no doubt was raised"])
            self._event(
                f"The clock of tablet {wrong} is an hour ahead: a doubt for the lead, no entry misplaced."
            )
        set_letterhead(run, story.book)
        story.papers = run.json("papers", story.book, "--out", f"{self.visit.key}/papers")
        story.papers += run.json(
            "papers", story.book, "--out", f"{self.visit.key}/papers", "--only", "child-records"
        )
        for form in ("json", "csv"):
            run("export", story.book, "--format", form, "--out", f"{self.visit.key}/export")
        counts = yearly(self.visit.rounds[-1].recount, self.visit.notes())
        summary = (self.folder / self.visit.key / "papers/yearly-summary.csv").read_text("utf-8")
        self._fault("yearly summary", yearly_faults(counts, summary))
        exported = json.loads((self.folder / self.visit.key / "export/children.json").read_text("utf-8"))
        self._fault("export", child_faults(self.visit.rounds[-1].recount, exported))
        replies = {
            note["child"]: json.loads(self.visit.replies.with_name(note["audiogram"]).read_text("utf-8"))
            for note in self._audiograms()
        }
        self._fault("examiners' audiograms", audiogram_faults(replies, exported))

    def _file(self, place: str, name: str, kind: str) -> str:
        return f"{self.visit.key}/{place}/{name}.{kind}"

    def _event(self, words: str) -> None:
        self.story.events.append(words)

    def _fault(self, where: str, faults: list[str]) -> None:
        self.story.faults += [f"{where}: {fault}" for fault in faults]


def moment(day: date, hour: int) -> datetime:
    """A full hour of a day, in the district's local time."""
    return datetime(day.year, day.month, day.day, hour, tzinfo=zone_of(day))
