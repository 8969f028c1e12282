"""Pictures of pages: PDFium against what a page is known to hold, and the Android port against a stand-in.

The stand-in only shows that the calls are made in an order that Android's reference asks for (from memory): one page
open at a time, white before drawing, everything closed. **No Android was there.**
"""

from __future__ import annotations

import io
import sys
from types import SimpleNamespace

import pytest
from reportlab.pdfgen.canvas import Canvas

from fieldapp.platform import pages
from fieldapp.platform.android import pages as android


@pytest.fixture
def pdf():
    """Two pages of 200 x 100 points: black left half, then red right half."""
    made = io.BytesIO()
    canvas = Canvas(made, pagesize=(200, 100))
    canvas.rect(0, 0, 100, 100, stroke=0, fill=1)
    canvas.showPage()
    canvas.setFillColorRGB(1, 0, 0)
    canvas.rect(100, 0, 100, 100, stroke=0, fill=1)
    canvas.showPage()
    canvas.save()
    return made.getvalue()


@pytest.mark.parametrize("wide", [200, 333, 1001])
def test_a_page_has_its_colours_where_they_were_drawn(pdf, wide):
    paper = pages.open_pages(pdf)
    assert pages.can_show() and paper.count == 2 and paper.shape == pytest.approx(0.5)
    black, red = paper.picture(0, wide), paper.picture(1, wide)
    assert black.wide == wide and black.high == pytest.approx(wide / 2, abs=1)
    assert len(black.pixels) == black.wide * black.high * 4

    def at(picture, across):
        start = (picture.high // 2 * picture.wide + int(picture.wide * across)) * 4
        return tuple(picture.pixels[start : start + 4])

    assert at(black, 0.25) == (0, 0, 0, 255) and at(black, 0.75) == (255, 255, 255, 255)
    assert at(red, 0.25) == (255, 255, 255, 255) and at(red, 0.75) == (255, 0, 0, 255)
    paper.close()


class Tablet:
    """Stands in for pyjnius on an Android of the given API level."""

    def __init__(self, level):
        self.level, self.done, self.written = level, [], b""

    def autoclass(self, name):
        self.done.append(name)
        return getattr(self, name.replace(".", "_").replace("$", "_"))(self)

    class android_os_Build_VERSION:
        def __init__(self, tablet):
            self.SDK_INT = tablet.level

    class android_system_Os:
        def __init__(self, tablet):
            self.tablet = tablet

        def memfd_create(self, _name, _flags):
            return "memory"

        def write(self, _file, data, start, length):
            some = data[start : start + min(length, 50)]  # as the system may: not all at once
            self.tablet.written += some
            return len(some)

        def close(self, _file):
            self.tablet.done.append("closed memory")

    def android_os_ParcelFileDescriptor(self, _tablet):
        return SimpleNamespace(
            dup=lambda _file: SimpleNamespace(close=lambda: self.done.append("closed file"))
        )

    def android_graphics_pdf_PdfRenderer(self, _tablet):
        page = SimpleNamespace(
            getWidth=lambda: 200,
            getHeight=lambda: 100,
            close=lambda: self.done.append("closed page"),
            render=lambda *_: self.done.append("drawn"),
        )

        def open_page(number):
            self.done.append(f"page {number}")
            return page

        closed = lambda: self.done.append("closed renderer")  # noqa: E731
        return lambda _file: SimpleNamespace(getPageCount=lambda: 2, openPage=open_page, close=closed)

    def android_graphics_Bitmap(self, _tablet):
        def create(wide, high, _config):
            def copy(buffer):
                buffer.data = [-1] * (wide * high * 4)  # Java's bytes have a sign

            white = lambda _colour: self.done.append("white")  # noqa: E731
            return SimpleNamespace(eraseColor=white, copyPixelsToBuffer=copy, recycle=lambda: None)

        return SimpleNamespace(createBitmap=create)

    def android_graphics_Bitmap_Config(self, _tablet):
        return SimpleNamespace(ARGB_8888="argb")

    def java_nio_ByteBuffer(self, _tablet):
        buffer = SimpleNamespace(data=[])
        buffer.array = lambda: buffer.data
        return SimpleNamespace(allocate=lambda _size: buffer)


def test_the_android_port_keeps_the_order_that_the_renderer_asks_for(monkeypatch, pdf):
    tablet = Tablet(30)
    monkeypatch.setitem(sys.modules, "jnius", tablet)
    assert android.is_there()
    paper = android.AndroidPages(pdf)
    assert tablet.written == pdf and paper.count == 2 and paper.shape == 0.5
    picture = paper.picture(1, 60)
    assert (picture.wide, picture.high, set(picture.pixels)) == (60, 30, {255})
    steps = [step for step in tablet.done if "." not in step]
    assert steps == ["closed memory", "page 0", "closed page", "page 1", "white", "drawn", "closed page"]
    paper.close()
    assert tablet.done[-2:] == ["closed renderer", "closed file"]


def test_an_older_android_has_no_preview(monkeypatch):
    monkeypatch.setitem(sys.modules, "jnius", Tablet(29))
    assert not android.is_there()
    monkeypatch.delitem(sys.modules, "jnius")
    assert not android.is_there()
