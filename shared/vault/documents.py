"""Documents: JSON values and how a set of tables changes. No files, no keys, no TinyDB.

``Tables`` is the view in memory; a ``Draft`` collects what one TinyDB call wants to change without touching
the view; ``encode`` is the one text form that is sealed and that the view is read back from.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, MutableMapping
from itertools import islice
from typing import Any

from shared.errors import Refused

Document = dict[str, Any]
Changes = dict[str, Document | None]  # document id -> the whole new document, or None: removed
Step = tuple[str, Changes | None]  # table name -> its changes, or None: the table is dropped

encode = json.JSONEncoder(separators=(",", ":"), allow_nan=False).encode
decode = json.JSONDecoder().decode


def copied(value: Any) -> Any:
    """A JSON value with containers of its own."""
    if isinstance(value, dict):
        return {key: copied(part) for key, part in value.items()}
    if isinstance(value, list):
        return [copied(part) for part in value]
    return value


def same(one: Any, other: Any) -> bool:
    """Equal as JSON text: unlike ``==``, 1, 1.0 and True are three values."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict):
        return list(one) == list(other) and all(same(part, other[key]) for key, part in one.items())
    if isinstance(one, list):
        return len(one) == len(other) and all(map(same, one, other))
    return repr(one) == repr(other) if isinstance(one, float) else bool(one == other)


class Draft(MutableMapping[int, Document]):
    """One table as a TinyDB updater sees it: integer ids, documents to change in place, the view untouched."""

    def __init__(self, documents: Mapping[str, Document]) -> None:
        self._before = documents
        self._lent: dict[str, Document] = {}
        self._set: Changes = {}
        self._cleared = False

    def __contains__(self, doc_id: object) -> bool:
        key = str(doc_id)
        if key in self._set:
            return self._set[key] is not None
        return key in self._before

    def __getitem__(self, doc_id: int) -> Document:
        key = str(doc_id)
        if key in self._set:
            document = self._set[key]
            if document is None:
                raise KeyError(doc_id)
            return document
        if key not in self._lent:
            self._lent[key] = copied(self._before[key])
        return self._lent[key]

    def __setitem__(self, doc_id: int, document: Document) -> None:
        self._set[str(doc_id)] = document

    def __delitem__(self, doc_id: int) -> None:
        if doc_id not in self:
            raise KeyError(doc_id)
        key = str(doc_id)
        self._lent.pop(key, None)
        self._set[key] = None

    def __iter__(self) -> Iterator[int]:
        for key in self._before:
            if self._set.get(key, self) is not None:
                yield int(key)
        for key, document in self._set.items():
            if document is not None and key not in self._before:
                yield int(key)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def clear(self) -> None:
        """Remove all documents at once."""
        self._before, self._lent, self._set, self._cleared = {}, {}, {}, True

    def steps(self, name: str, *, known: bool) -> Iterator[Step]:
        """What changed: nothing for a known table whose documents are all the same."""
        if self._cleared and known:
            yield name, None
        changes: Changes = {
            key: document for key, document in self._lent.items() if not same(document, self._before[key])
        }
        changes.update(self._set)
        if changes or self._cleared or not known:
            yield name, changes


class Documents(Mapping[str, Document]):
    """One table: id -> document, in the order of insertion. Never change what you get.

    What was written since the store was opened is held as the sealed text that says it, until somebody reads
    it: of the hundreds of thousands that a gathering brings, nobody does.
    """

    __slots__ = ("held",)

    def __init__(self) -> None:
        self.held: dict[str, Document | str] = {}

    def __getitem__(self, key: str) -> Document:
        held = self.held[key]
        if isinstance(held, str):
            self._read(held)
            held = self.held[key]
        return held  # type: ignore[return-value]

    def _read(self, text: str) -> None:
        for key, document in decode(text)[1].items():
            if self.held.get(key) is text:
                self.held[key] = document

    def __contains__(self, key: object) -> bool:
        return key in self.held

    def __iter__(self) -> Iterator[str]:
        return iter(self.held)

    def __len__(self) -> int:
        return len(self.held)


class Tables:
    """All tables in memory; every change can be taken back."""

    def __init__(self) -> None:
        self.tables: dict[str, Documents] = {}

    def apply(self, name: str, changes: Mapping[str, Document | str | None] | None) -> None:
        """Take a step for good. A document may be given as the text of its step."""
        if changes is None:
            self.tables.pop(name, None)
            return
        held = self.tables.setdefault(name, Documents()).held
        if None not in changes.values():
            held.update(changes)  # type: ignore[arg-type]
            return
        for key, document in changes.items():
            if document is None:
                held.pop(key, None)
            else:
                held[key] = document

    def take(self, name: str, changes: Changes | None, text: str) -> Callable[[], None]:
        """Take the step that ``text`` says; the function returned puts everything back, order included.

        The view holds the text and not the caller's documents: it never knows anything that was not sealed.
        """
        before = self.tables.get(name)
        if changes is None:
            return self._dropped(name)
        said = {key: None if document is None else text for key, document in changes.items()}
        if before is None:
            self.apply(name, said)

            def forget() -> None:
                self.tables.pop(name, None)

            return forget
        held = before.held
        if None in said.values():  # a document that comes back comes back where it stood
            whole = dict(held)
            self.apply(name, said)

            def restore() -> None:
                held.clear()
                held.update(whole)

            return restore
        replaced = {key: held[key] for key in said if key in held}
        self.apply(name, said)

        def take_back() -> None:
            for key in said:
                if key in replaced:
                    held[key] = replaced[key]
                else:
                    del held[key]

        return take_back

    def _dropped(self, name: str) -> Callable[[], None]:
        before, order = self.tables.get(name), list(self.tables)
        self.apply(name, None)

        def bring_back() -> None:
            if before is not None:
                self.tables[name] = before
                self.tables = {known: self.tables[known] for known in order}

        return bring_back


# A frame that does not open costs at most about this many documents.
DOCUMENTS_A_STEP = 16
# A payload may have 8 MiB (``FORMAT.md``, section 8); the table's name needs some of it.
MOST_TEXT = 7 * 1024 * 1024
LONGEST_NAME = 1024
_DECODED_AT_ONCE = 1024 * 1024


def texts(step: Step) -> Iterator[str]:
    """The step as JSON texts; see ``parts``."""
    return (text for text, _ in parts(step))


def parts(step: Step) -> Iterator[tuple[str, Changes | None]]:
    """The step as JSON texts, small enough that damage to one costs few documents, each with the part of the
    step that it says; raises ``Refused``."""
    name, changes = step
    label = encode(name)
    if len(label) > LONGEST_NAME:
        raise _not_storable("A table's name is too long to be stored.")
    if not changes:
        yield f"[{label},{'null' if changes is None else '{}'}]", changes
        return
    items = iter(changes.items())
    while part := dict(islice(items, DOCUMENTS_A_STEP)):
        for text, fitting in _fitting(part):
            yield f"[{label},{text}]", fitting


def _fitting(part: Changes) -> Iterator[tuple[str, Changes]]:
    """The changes as texts that each fit a payload."""
    text = _text(part)
    if len(text) <= MOST_TEXT:
        yield text, part
    elif len(part) == 1:
        raise _not_storable("A document is too large to be stored.")
    else:
        items = list(part.items())
        middle = len(items) // 2
        yield from _fitting(dict(items[:middle]))
        yield from _fitting(dict(items[middle:]))


def _text(changes: Changes) -> str:
    try:
        return encode(changes)
    except (TypeError, ValueError, RecursionError):
        # The cause may quote a document: it is not shown and not chained.
        raise _not_storable("A document holds something that cannot be stored.") from None


def _not_storable(happened: str) -> Refused:
    todo = "This is a mistake in the program: please report it."
    return Refused(happened, kept="Nothing was changed.", todo=todo)


def steps_in(payloads: Iterable[bytes]) -> Iterator[list[Step]]:
    """The steps of each payload; raises ``ValueError`` where one is not JSON.

    Small payloads are decoded many at a time: one call for each would cost as much as the decoding.
    """
    batch: list[bytes] = []
    size = 0
    for payload in payloads:
        batch.append(payload)
        size += len(payload)
        if size > _DECODED_AT_ONCE:
            yield from json.loads(b"[" + b",".join(batch) + b"]")
            batch, size = [], 0
    yield from json.loads(b"[" + b",".join(batch) + b"]")
