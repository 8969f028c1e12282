"""What every FHIR resource is put together from: ids, references, coded words, fields without empty ones."""

from __future__ import annotations

from typing import Any
from uuid import NAMESPACE_URL, uuid5

from fieldapp.papers.context import PaperContext

LOCAL = "urn:quietbell:codes"
TERMINOLOGY = "http://terminology.hl7.org/CodeSystem/"
_ABSENT = f"{TERMINOLOGY}data-absent-reason"

Resource = dict[str, Any]
Reference = dict[str, str]


class Book:
    """Gives resources their ids and collects them as entries."""

    def __init__(self, context: PaperContext) -> None:
        self.context = context
        self.entries: list[dict[str, Any]] = []
        self._known: set[str] = set()

    def url(self, kind: str, key: str) -> str:
        """The ``fullUrl`` of a resource."""
        return f"urn:uuid:{uuid5(NAMESPACE_URL, f'quietbell:{self.context.number}:{kind}:{key}')}"

    def add(self, key: str, resource: Resource) -> dict[str, str]:
        """Put a resource into the bundle (once) and return a reference to it."""
        url = self.url(resource["resourceType"], key)
        if url not in self._known:
            self._known.add(url)
            self.entries.append(
                {"fullUrl": url, "resource": {"id": url.removeprefix("urn:uuid:"), **resource}}
            )
        return {"reference": url}


def local(code: str, text: str) -> Resource:
    """A code of our own, for what has no published one."""
    return {"coding": [{"system": LOCAL, "code": code, "display": text}], "text": text}


def absent(code: str, text: str) -> Resource:
    """Why there is no value: a code of the published set, and words."""
    return {"coding": [{"system": _ABSENT, "code": code}], "text": text}


def filled(**fields: Any) -> Resource:
    """The fields that have a value: FHIR allows no empty ones."""
    return {name: value for name, value in fields.items() if value is not None and value not in ("", [], {})}


def coded(system: str, code: str, display: str) -> Resource:
    """A code of one of HL7's own systems."""
    return {"coding": [{"system": f"{TERMINOLOGY}{system}", "code": code, "display": display}]}


def practitioner(book: Book, author: str) -> list[Reference]:
    """A screener, by the initials signed in with; nobody where there are none."""
    who = {"resourceType": "Practitioner", "name": [{"text": author}]}
    return [book.add(author, who)] if author else []
