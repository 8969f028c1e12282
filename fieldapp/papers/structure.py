"""The logical structure of a paper (a tagged PDF): which text is a heading, a paragraph, a table's cell, a figure.

Readers for the blind, and whoever copies text out, follow it (ISO 32000-1, 14.7 and 14.8). Only the tree and its form
in the file may live here; ReportLab writes none itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFName, PDFObject


class Element:
    """One element: a standard type (H1, P, Table, TR, TH, TD, Figure, ...) and what it holds, in reading order.

    ``kids`` are elements, and (page, mark) for text on a page. ``alt`` is read aloud in place of a figure.
    """

    __slots__ = ("alt", "columns", "kids", "language", "number", "parent", "tag")

    def __init__(
        self, tag: str, parent: Element | None, *, alt: str = "", language: str = "", columns: int = 1
    ) -> None:
        self.tag, self.parent, self.alt, self.language, self.columns = tag, parent, alt, language, columns
        self.kids: list[Element | tuple[int, int]] = []
        self.number = 0
        if parent is not None:
            parent.kids.append(self)


#: What is no part of the text: page furniture, titles repeated on further pages.
ARTIFACT = Element("Artifact", None)


class Structure:
    """The tree of one file, filled while its pages are drawn."""

    def __init__(self) -> None:
        self.document = Element("Document", None)
        self._owners: list[list[Element]] = []  # page -> mark -> element

    def new_page(self) -> None:
        """Marks count from 0 on every page."""
        self._owners.append([])

    def mark(self, element: Element) -> int:
        """A new mark on the current page that belongs to the element."""
        owners = self._owners[-1]
        element.kids.append((len(self._owners) - 1, len(owners)))
        owners.append(element)
        return len(owners) - 1

    def write(self, document: Any) -> None:
        """Put the tree into ReportLab's document, just before it is saved; every page has been added to it."""
        names = [f"Page{number}" for number in range(1, len(self._owners) + 1)]
        pages = [document.idToObjectNumberAndVersion[name][0] for name in names]
        tree = _Raw(lambda: f"<</Type/StructTreeRoot{self._root(parents)}>>")
        root = _add(document, tree)
        for element in _walk(self.document):
            element.number = _add(document, _Written(element, root, pages))
        parents = _add(document, _Raw(self._parent_tree))
        document.Catalog.StructTreeRoot = document.Reference(tree)
        document.Catalog.MarkInfo = _Raw(lambda: "<</Marked true>>")
        for index, name in enumerate(names):
            page = document.idToObject[name]
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]  # of this page object only
            page.StructParents, page.Tabs = index, PDFName("S")

    def _root(self, parents: int) -> str:
        following = len(self._owners)
        return f"/K[{self.document.number} 0 R]/ParentTree {parents} 0 R/ParentTreeNextKey {following}"

    def _parent_tree(self) -> str:
        rows = (
            f"{page} [{' '.join(f'{element.number} 0 R' for element in of_page)}]"
            for page, of_page in enumerate(self._owners)
        )
        return f"<</Nums[{' '.join(rows)}]>>"


class _Raw(PDFObject):
    """An object that is written as the text its function gives once all numbers are known."""

    __RefOnly__ = 1

    def __init__(self, text: Callable[[], str]) -> None:
        self._text = text

    def format(self, document: Any) -> bytes:
        """The object as ReportLab wants it."""
        return self._text().encode("latin-1")


class _Written(PDFObject):
    """An element's object in the file."""

    __RefOnly__ = 1

    def __init__(self, element: Element, root: int, pages: list[int]) -> None:
        self._element, self._root, self._pages = element, root, pages

    def format(self, document: Any) -> bytes:
        """The object as ReportLab wants it."""
        return _element(self._element, self._root, self._pages).encode("latin-1")


def _walk(element: Element) -> Iterator[Element]:
    yield element
    for kid in element.kids:
        if isinstance(kid, Element):
            yield from _walk(kid)


def _add(document: Any, made: PDFObject) -> int:
    """Register an object; its number in the file."""
    reference = document.Reference(made)
    return int(document.idToObjectNumberAndVersion[reference.name][0])


def _element(element: Element, root: int, pages: list[int]) -> str:
    parent = element.parent.number if element.parent is not None else root
    said = f"<</Type/StructElem/S/{element.tag}/P {parent} 0 R"
    if element.kids:
        marked = {kid[0] for kid in element.kids if not isinstance(kid, Element)}
        page = marked.pop() if len(marked) == 1 else None
        said += f"/Pg {pages[page]} 0 R" if page is not None else ""
        said += f"/K[{' '.join([_kid(kid, page, pages) for kid in element.kids])}]"
    if element.alt:
        said += f"/Alt<FEFF{element.alt.encode('utf-16-be').hex()}>"
    if element.language:
        said += f"/Lang({element.language})"
    if element.columns > 1:
        said += f"/A<</O/Table/ColSpan {element.columns}>>"
    elif element.tag == "TH":
        said += "/A<</O/Table/Scope/Column>>"
    return f"{said}>>"


def _kid(kid: Element | tuple[int, int], page: int | None, pages: list[int]) -> str:
    if isinstance(kid, Element):
        return f"{kid.number} 0 R"
    if kid[0] == page:
        return str(kid[1])
    return f"<</Type/MCR/Pg {pages[kid[0]]} 0 R/MCID {kid[1]}>>"
