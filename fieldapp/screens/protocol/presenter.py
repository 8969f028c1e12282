"""A protocol to see in full, with source and marks; and a copy of it to change. No Kivy.

Leaving a changed copy asks; saving one that makes no sense opens the field that is wrong, and nothing is lost.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases, protocol_words
from fieldapp.screens.base import Presenter
from fieldapp.screens.protocol.controls import GRADES, Controls, Key, Line
from fieldapp.services.presets import origin, preset_names
from fieldapp.services.protocol_draft import ProtocolDraft
from shared.errors import QuietbellError
from shared.hearing.protocol import Protocol, ProtocolError
from shared.hearing.protocol_marks import FIELDS, in_use

SOURCE = "source"
LONG = 72  # letters of a value


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the list: a field, its value and its mark."""

    field: str
    name: str
    value: str
    mark: str
    chosen: bool
    wrong: bool


@dataclass(frozen=True, slots=True)
class Card:
    """What is said about the chosen field. ``paragraphs``: (words, soft)."""

    title: str
    value: str
    wrong: str
    paragraphs: tuple[tuple[str, bool], ...]
    lines: tuple[Line, ...]


class ProtocolPresenter(Presenter):
    """``visit`` is what the prepare screen had filled in, and gets back."""

    def enter(
        self, protocol: str, visit: Mapping[str, Any] | None = None, draft: ProtocolDraft | None = None
    ) -> None:
        self.name, self.visit, self.draft = protocol, visit, draft
        self.field = SOURCE if draft is None else "frequencies"
        self.protocol: Protocol = self.session.own_protocols.load(protocol)

    # -- what is shown ---------------------------------------------------------------------------

    @property
    def own(self) -> bool:
        """Whether the protocol was made here."""
        return self.name not in preset_names()

    @property
    def data(self) -> dict[str, Any]:
        """The protocol or the draft, in the forms of ``Protocol.to_dict``."""
        if self.draft is None:
            return self.protocol.to_dict()
        return {field: self.draft[field] for field in FIELDS}

    def title(self) -> tuple[str, str]:
        """The bar: what it is called, and what it is a copy of or what one can do."""
        t = self.t
        if self.draft is not None:
            return self.draft.title, t("protocol.copy_about", of=t.sentence(self.draft.first.title))
        first = self.protocol.copy_of
        about = t("protocol.copy_about", of=t.sentence(first.title)) if first else ""
        return t.sentence(self.protocol.title), about

    def rows(self) -> list[Row]:
        """The source first, then every field that the rule uses; while a copy is changed, every field there is."""
        t, data = self.t, self.data
        wrong = self._wrong_field()
        looked = phrases.short_date(t, self.protocol.checked)
        source = t("prepare.checked", day=looked) if looked else t("protocol.none")
        rows = [Row(SOURCE, t("protocol.field_source"), source, "", self.field == SOURCE, False)]
        for field in in_use(data) if self.draft is None else FIELDS:
            rows.append(
                Row(
                    field,
                    protocol_words.field_name(t, field),
                    _short(protocol_words.value(t, data, field)),
                    self._mark_words(field),
                    field == self.field,
                    field == wrong,
                )
            )
        return rows

    def card(self) -> Card:
        """The chosen field: its value, how it is known, and what can be done to it."""
        t, field, draft = self.t, self.field, self.draft
        if field == SOURCE:
            return self._source_card()
        mark = self._mark(field)
        meaning = t(f"protocol.mark_{mark.replace(' ', '-')}" if mark else "protocol.mark_none")
        words = [(f"{_capital(self._mark_name(field))}. {meaning}", True)]
        lines: list[Line] = []
        first = self._first()
        if first is not None and self._is_changed(field):
            before = protocol_words.value(t, first.to_dict(), field).replace("\n", "; ")
            was = protocol_words.mark_name(t, first.marks.get(field, ""), own=False)
            words = [(t("protocol.mark_changed", value=before, mark=was), True)]
        if draft is not None:
            lines = self._lines(field)
        value = protocol_words.value(t, self.data, field)
        return Card(
            protocol_words.field_name(t, field),
            value if draft is None or len(value) <= LONG else "",  # what can be pressed says it too
            self._wrong_words() if self._wrong_field() == field else "",
            tuple(words),
            tuple(lines),
        )

    def choose(self, field: str) -> None:
        """Another line of the list."""
        self.field = field
        self.changed()

    def _lines(self, field: str) -> list[Line]:
        t, draft = self.t, self.draft
        assert draft is not None
        lines = Controls(t, draft).lines(field)
        if field == "levels":
            lines.append(Line(keys=(Key(t("protocol.band_add"), self.add_band),), several=True))
        if draft.is_changed(field):
            before = protocol_words.value(t, draft.first.to_dict(), field).replace("\n", "; ")
            back = Key(t("protocol.as_first", value=before), lambda: draft.as_first(field))
            lines.append(Line(keys=(back,), several=True))
        return lines

    def _source_card(self) -> Card:
        t, protocol, draft = self.t, self.protocol, self.draft
        shown = protocol if draft is None else self._as_protocol()
        said = [(t.sentence(protocol.source), False)]
        if protocol.checked:
            said.append((t("prepare.checked", day=phrases.short_date(t, protocol.checked)), False))
        if not protocol.verified or draft is not None:
            said.append((t("today.unverified" if self.session.station else "prepare.unverified"), False))
        if shown is not None:
            said += [(words, True) for words in protocol_words.fields_by_mark(t, shown)]
        said += [(t.sentence(caution), False) for caution in protocol.cautions]
        lines = [] if draft is None else [Line(keys=(Key(t("protocol.rename"), self.rename),), several=True)]
        name = draft.title if draft is not None else protocol_words.title(t, protocol)
        return Card(t("protocol.field_source"), name, "", tuple(said), tuple(lines))

    def _as_protocol(self) -> Protocol | None:
        try:
            return self.draft.protocol() if self.draft else self.protocol
        except ProtocolError:
            return None

    def _mark_words(self, field: str) -> str:
        """The mark, with a sign where this copy changed the field."""
        words = self._mark_name(field)
        return f"✎ {words}" if self._is_changed(field) else words

    def _mark_name(self, field: str) -> str:
        return protocol_words.mark_name(self.t, self._mark(field), own=self._is_changed(field))

    def _mark(self, field: str) -> str:
        return self.draft.mark(field) if self.draft else self.protocol.marks.get(field, "")

    def _first(self) -> Protocol | None:
        """The preset that this is a copy of."""
        if self.draft is not None:
            return self.draft.first
        return origin(self.protocol) if self.protocol.copy_of else None

    def _is_changed(self, field: str) -> bool:
        """Whether the copy has changed the field."""
        if self.draft is not None:
            return self.draft.is_changed(field)
        return self.protocol.copy_of is not None and field in self.protocol.copy_of.changed

    def _wrong_field(self) -> str:
        error = self.draft.refusal() if self.draft else None
        return error.field.split(".")[0] if error else ""

    def _wrong_words(self) -> str:
        error = self.draft.refusal() if self.draft else None
        return self._refused(error) if error else ""

    def _refused(self, error: ProtocolError) -> str:
        t, field = self.t, error.field.split(".")[0]
        name = protocol_words.field_name(t, field) if t.has(f"protocol.field_{field}") else field
        return t("protocol.refused", field=name, reason=t.sentence(error.reason))

    # -- seeing ----------------------------------------------------------------------------------

    def use(self) -> None:
        """Prepare the visit with it."""
        self._back_to_visit(self.name)

    def copy(self) -> None:
        """Name a copy, then change it."""
        t = self.t
        self.session.ask_text(
            t("protocol.copy_title_ask"),
            t("protocol.copy_name"),
            t("protocol.copy_go"),
            self._copied,
            check=lambda title: self._title_fault(title, ""),
        )

    def _copied(self, title: str) -> None:
        self._go_on(ProtocolDraft(self.protocol, title=" ".join(title.split())))

    def change(self) -> None:
        """Change an own protocol again."""
        self._go_on(ProtocolDraft(self.protocol, name=self.name))

    def delete(self) -> None:
        """Take an own protocol away, after a question."""
        t = self.t
        self.session.ask(
            t("protocol.delete_title", title=self.protocol.title),
            t("protocol.delete_words"),
            [
                (t("protocol.delete"), "quiet", self._deleted),
                (t("sheet.back"), "back", lambda: None),
            ],
        )

    def _deleted(self) -> None:
        if self.guarded(lambda: self.session.own_protocols.delete(self.name)):
            chosen = (self.visit or {}).get("protocol", self.name)
            self._back_to_visit(preset_names()[0] if chosen == self.name else chosen)

    def _go_on(self, draft: ProtocolDraft) -> None:
        self.session.go("protocol", protocol=self.name, visit=self.visit, draft=draft)

    # -- changing --------------------------------------------------------------------------------

    def do(self, key: Key) -> None:
        """A key of the chosen field was pressed."""
        key.act()
        self.changed()

    def add_band(self) -> None:
        """Which grades get levels of their own."""
        t, draft = self.t, self.draft
        assert draft is not None

        def took(grades: Any) -> None:
            draft.add_band(tuple(grade for grade in GRADES if grade in grades))
            self.changed()

        self.session.ask_many(
            t("protocol.band_add"),
            [(t("protocol.band_add_words"), [(grade, grade) for grade in GRADES])],
            lambda chosen: (t("protocol.band_add_go"), bool(chosen)),
            took,
        )

    def rename(self) -> None:
        """Another name for the copy."""
        t, draft = self.t, self.draft
        assert draft is not None
        self.session.ask_text(
            t("protocol.rename"),
            t("protocol.copy_name"),
            t("protocol.rename_go"),
            self._renamed,
            text=draft.title,
            check=lambda title: self._title_fault(title, draft.name),
        )

    def _renamed(self, title: str) -> None:
        assert self.draft is not None
        self.draft.title = " ".join(title.split())
        self.changed()

    def _title_fault(self, title: str, name: str) -> str:
        try:
            self.session.own_protocols.check_title(title, name)
        except ProtocolError as error:
            reason = self.t.sentence(error.reason)
            return self.t("protocol.refused", field=self.t("protocol.field_title"), reason=reason)
        return ""

    def save(self) -> None:
        """Keep the copy; one that makes no sense opens the field that is wrong."""
        t, draft = self.t, self.draft
        assert draft is not None
        try:
            kept = draft.save(self.session.own_protocols)
        except ProtocolError as error:
            field = error.field.split(".")[0]
            self.field = field if field in FIELDS else SOURCE
            self.changed()
            self.session.tell(
                t("protocol.refused_title"), f"{self._refused(error)}\n{t('protocol.refused_kept')}"
            )
            return
        except QuietbellError as error:
            self.session.trouble(error)
            return
        self.session.go("protocol", protocol=kept.name, visit=self.visit)
        self.session.tell(t("protocol.saved"), t("protocol.saved_words"))

    def go_back(self) -> None:
        """Back to the protocol, or to the visit; a change that is not saved is asked about."""
        t = self.t
        if self.draft is None:
            self._back_to_visit((self.visit or {}).get("protocol", self.name))
        elif self.draft.touched:
            self.session.ask(
                t("protocol.leave_title"),
                t("protocol.leave_words"),
                [
                    (t("protocol.leave_go"), "quiet", self._left),
                    (t("protocol.leave_stay"), "strong", lambda: None),
                ],
            )
        else:
            self._left()

    def _left(self) -> None:
        self.session.go("protocol", protocol=self.name, visit=self.visit)

    def _back_to_visit(self, name: str) -> None:
        self.session.go("prepare", kept={**(self.visit or {}), "protocol": name})


def _short(value: str, most: int = LONG) -> str:
    """The beginning of a long value: all of it is beside the list."""
    words = "; ".join(value.split("\n"))
    return words if len(words) <= most else f"{words[:most].rsplit(' ', 1)[0]} …"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
