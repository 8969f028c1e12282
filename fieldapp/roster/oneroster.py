"""From a OneRoster CSV set (versions 1.1 and 1.2, folder or zip) to one table of students.

users.csv names the people, demographics.csv their birth dates, enrollments.csv and classes.csv their class;
roles.csv (1.2 only), orgs.csv and academicSessions.csv are used where they are there. Columns are those of the
published "OneRoster CSV Tables" 1.1 and "CSV Binding" 1.2, read second-hand in public column lists; values of
role, status and classType are from memory of the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from fieldapp.roster.archive import Archive
from fieldapp.roster.characters import read_characters
from fieldapp.roster.columns import Columns
from fieldapp.roster.lines import Line, read_lines
from fieldapp.roster.people import tidy
from fieldapp.roster.reading import NotARoster, RowProblem
from fieldapp.roster.table import MOST_ROWS, Table

_FIELDS = ("student_number", "given", "family", "born", "grade", "class_name", "guardian")
_TITLES = ("identifier", "givenName", "familyName", "birthDate", "grades", "title", "agentSourcedIds")
_COLUMNS = Columns(
    {name: place for place, name in enumerate(_FIELDS)},
    dict(zip(_FIELDS, _TITLES, strict=True)),
    (),
    len(_FIELDS),
)
_NEEDED = ("sourcedId", "givenName", "familyName")
_GUARDIANS = {"guardian", "parent", "relative"}
_GONE = {"tobedeleted", "inactive"}  # inactive: version 1.0

_Row = tuple[Line, Mapping[str, str]]


@dataclass(frozen=True, slots=True)
class OneRosterFiles:
    """The set's files by lower-case name, as bytes read when they are asked for."""

    folder: Mapping[str, Path] = field(default_factory=dict)
    archive: Archive | None = None
    largest: int = 0

    @classmethod
    def in_folder(cls, folder: Path, largest: int) -> OneRosterFiles:
        """The set in a folder; raises ``NotARoster`` where there is none, or a file is over ``largest`` bytes."""
        files = {file.name.lower(): file for file in sorted(folder.iterdir()) if file.is_file()}
        if "users.csv" not in files:
            raise NotARoster(
                "This folder holds no OneRoster set (there is no users.csv in it).",
                todo="Choose the class list itself, or the folder with the OneRoster files.",
            )
        return cls(folder=files, largest=largest)

    @classmethod
    def in_archive(cls, archive: Archive) -> OneRosterFiles:
        """The set in a zip that has been looked through."""
        return cls(archive=archive)

    def rows(self, name: str) -> Iterator[_Row]:
        """Every row below the header of a file with its cells by lower-case title; none if it is not there.

        Blank rows come with no cells.
        """
        data = self._bytes(name)
        if not data.strip():
            return
        lines = read_lines(read_characters(data).text, ",")
        header = [tidy(title).lower() for title in next(lines).cells]
        if "sourcedid" not in header:
            raise NotARoster(f"{name} of this OneRoster set has no column sourcedId.")
        missing = [title for title in _NEEDED if title.lower() not in header]
        if name == "users.csv" and missing:
            raise NotARoster(f"users.csv of this OneRoster set has no column {missing[0]}.")
        for line in lines:
            cells = {} if line.blank else dict(zip(header, map(tidy, line.cells), strict=False))
            yield line, cells

    def _bytes(self, name: str) -> bytes:
        if self.archive is not None:
            return self.archive.read(name) if name in self.archive.members else b""
        file = self.folder.get(name)
        if file is None:
            return b""
        try:
            if file.stat().st_size > self.largest:
                raise NotARoster(
                    f"{name} of this OneRoster set has more than {self.largest // 1_000_000} MB.",
                    todo="Ask for the set of one school.",
                )
            return file.read_bytes()
        except OSError as error:
            raise NotARoster(f"{name} cannot be opened ({error.strerror}).") from None


def oneroster_table(files: OneRosterFiles, *, today: date, school: str = "") -> Table:
    """The students of a set as a table whose line numbers are those of users.csv.

    ``school`` (its name, identifier or sourcedId) keeps the students of one school. Deleted students are
    problems; teachers, guardians and children of other schools are counted as other people.
    """
    people = _People.read(files)
    wanted = _school_ids(files, school) if school else None
    born = _birth_dates(files)
    classes, no_homeroom = _classes(files, today, wanted)
    table = Table(_COLUMNS)
    schools: Counter[str] = Counter()
    without_identifier = 0
    for line, cells in files.rows("users.csv"):
        if line.blank:
            table.blank_lines += 1
            continue
        if len(table.lines) >= MOST_ROWS:
            raise NotARoster(f"This set has more than {MOST_ROWS:,} students.", todo="Ask for one school's.")
        if line.broken:
            table.lines.append(line)
            continue
        user = cells.get("sourcedid", "")
        if not people.is_student(user, cells):
            table.other_people += 1
            continue
        at = people.schools_of(user, cells)
        if wanted is not None and not wanted & at:
            table.other_people += 1
            continue
        if _gone(cells):
            table.problems.append(RowProblem(line.number, "The set marks this student as deleted."))
            continue
        schools.update(at)
        identifier = cells.get("identifier", "")
        without_identifier += not identifier
        row = (
            identifier or user,
            cells.get("givenname", ""),
            cells.get("familyname", ""),
            born.get(user, ""),
            _first(cells.get("grades", "")),
            classes.get(user, ""),
            people.guardian_of(cells),
        )
        table.lines.append(Line(line.number, row))
    if table.other_people:
        table.notes.append(f"People who are no students of this roster, left out: {table.other_people}.")
    if without_identifier:
        table.notes.append(f"Students without an identifier, known by their sourcedId: {without_identifier}.")
    if len(schools) > 1 and wanted is None:
        table.notes.append(f"Students of {len(schools)} schools are in this set; all were read.")
    if no_homeroom:
        table.notes.append(
            "The set names no homerooms; children are listed under their first class by title."
        )
    return table


@dataclass(slots=True)
class _People:
    """Who is a student and where (from roles.csv in version 1.2), and the names of guardians."""

    in_roles: bool
    student_at: dict[str, set[str]]
    guardians: dict[str, str]

    @classmethod
    def read(cls, files: OneRosterFiles) -> _People:
        student_at: dict[str, set[str]] = {}
        roles: dict[str, str] = {}
        for _, cells in files.rows("roles.csv"):
            user, role = cells.get("usersourcedid", ""), cells.get("role", "").lower()
            roles[user] = role
            if role == "student" and not _gone(cells):
                student_at.setdefault(user, set()).add(cells.get("orgsourcedid", ""))
        guardians: dict[str, str] = {}
        has_role, anyone = bool(roles), False
        for _, cells in files.rows("users.csv"):
            has_role, anyone = has_role or "role" in cells, anyone or bool(cells)
            role = cells.get("role", "").lower() or roles.get(cells.get("sourcedid", ""), "")
            if role in _GUARDIANS and not _gone(cells):
                name = f"{cells.get('givenname', '')} {cells.get('familyname', '')}".strip()
                guardians[cells.get("sourcedid", "")] = name
        if anyone and not has_role:
            raise NotARoster(
                "This OneRoster set does not say who is a student: users.csv has no role and there is no "
                "roles.csv.",
                todo="Ask the school for the whole set.",
            )
        return cls(bool(roles), student_at, guardians)

    def is_student(self, user: str, cells: Mapping[str, str]) -> bool:
        role = cells.get("role", "").lower()
        return role == "student" if role or not self.in_roles else user in self.student_at

    def schools_of(self, user: str, cells: Mapping[str, str]) -> set[str]:
        listed = cells.get("orgsourcedids", "") or cells.get("primaryorgsourcedid", "")
        return ({org.strip() for org in listed.split(",")} | self.student_at.get(user, set())) - {""}

    def guardian_of(self, cells: Mapping[str, str]) -> str:
        agents = (agent.strip() for agent in cells.get("agentsourcedids", "").split(","))
        return next((self.guardians[agent] for agent in agents if self.guardians.get(agent)), "")


def _school_ids(files: OneRosterFiles, school: str) -> set[str]:
    wanted = tidy(school).casefold()
    found = {school}
    for _, cells in files.rows("orgs.csv"):
        if wanted in {cells.get(title, "").casefold() for title in ("name", "identifier", "sourcedid")}:
            found.add(cells.get("sourcedid", ""))
    return found - {""}


def _birth_dates(files: OneRosterFiles) -> dict[str, str]:
    return {
        cells.get("sourcedid", ""): cells.get("birthdate", "")
        for _, cells in files.rows("demographics.csv")
        if not _gone(cells)
    }


def _classes(files: OneRosterFiles, today: date, schools: set[str] | None) -> tuple[dict[str, str], bool]:
    """User -> the title of the class a child is found in; and whether no homeroom is named anywhere.

    Homeroom before other classes, running before past or coming ones, then by title.
    """
    running = {
        cells.get("sourcedid", ""): _running(cells.get("startdate", ""), cells.get("enddate", ""), today)
        for _, cells in files.rows("academicsessions.csv")
    }
    classes: dict[str, tuple[bool, bool, str]] = {}  # class -> (is past, is no homeroom, title)
    for _, cells in files.rows("classes.csv"):
        if _gone(cells):
            continue
        terms = [term.strip() for term in cells.get("termsourcedids", "").split(",")]
        past = bool(terms) and not any(running.get(term, True) for term in terms)
        scheduled = cells.get("classtype", "").lower() != "homeroom"
        classes[cells.get("sourcedid", "")] = (past, scheduled, cells.get("title", ""))
    best: dict[str, tuple[bool, bool, str]] = {}
    for _, cells in files.rows("enrollments.csv"):
        found = classes.get(cells.get("classsourcedid", ""))
        if found is None or _gone(cells) or cells.get("role", "student").lower() != "student":
            continue
        if schools is not None and cells.get("schoolsourcedid", "") not in schools | {""}:
            continue
        past, scheduled, title = found
        past = past or not _running(cells.get("begindate", ""), cells.get("enddate", ""), today)
        rank = (past, scheduled, title)
        user = cells.get("usersourcedid", "")
        best[user] = min(best.get(user, rank), rank)
    no_homeroom = bool(best) and all(scheduled for _, scheduled, _ in classes.values())
    return {user: title for user, (_, _, title) in best.items()}, no_homeroom


def _running(begin: str, end: str, today: date) -> bool:
    """Whether a span of ISO dates holds the day; an open end holds all days. (ISO dates sort as text.)"""
    day = today.isoformat()
    return (not begin or begin[:10] <= day) and (not end or day <= end[:10])


def _gone(cells: Mapping[str, str]) -> bool:
    return cells.get("status", "").lower() in _GONE


def _first(values: str) -> str:
    parts: Iterable[str] = (part.strip() for part in values.split(","))
    return next((part for part in parts if part), "")
