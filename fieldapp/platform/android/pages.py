"""Pictures of a paper's pages by Android's own renderer (``android.graphics.pdf.PdfRenderer``), through pyjnius.

**Never run**: written from Android's reference (from memory), tried against a stand-in only. The renderer wants a file
that it can seek in; so that nothing is written to the tablet's storage it gets an anonymous file in memory
(``android.system.Os.memfd_create``, Android 11 and newer). An older tablet has no preview.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

from fieldapp.platform.pages import Picture

FIRST_ANDROID = 30  # the API level of Android 11
_FOR_DISPLAY = 1  # PdfRenderer.Page.RENDER_MODE_FOR_DISPLAY


def _java(name: str) -> Any:
    return import_module("jnius").autoclass(name)


def is_there() -> bool:
    """Whether this is an Android that can show a paper without writing it."""
    try:
        return int(_java("android.os.Build$VERSION").SDK_INT) >= FIRST_ANDROID
    except Exception:  # whatever pyjnius raises where there is no such class
        return False


class AndroidPages:
    """An open paper; see ``fieldapp.platform.pages.Pages``."""

    def __init__(self, pdf: bytes) -> None:
        system = _java("android.system.Os")
        memory = system.memfd_create("paper", 0)
        try:
            done = 0
            while done < len(pdf):
                done += system.write(memory, pdf, done, len(pdf) - done)
            self._file = _java("android.os.ParcelFileDescriptor").dup(memory)
        finally:
            system.close(memory)
        self._renderer = _java("android.graphics.pdf.PdfRenderer")(self._file)
        self.count = int(self._renderer.getPageCount())
        page = self._renderer.openPage(0)
        self.shape = page.getHeight() / page.getWidth()
        page.close()

    def picture(self, page: int, wide: int) -> Picture:
        bitmaps = _java("android.graphics.Bitmap")
        sheet = self._renderer.openPage(page)
        try:
            high = round(wide * sheet.getHeight() / sheet.getWidth())
            bitmap = bitmaps.createBitmap(wide, high, _java("android.graphics.Bitmap$Config").ARGB_8888)
            bitmap.eraseColor(-1)  # white; the renderer draws on what is there
            sheet.render(bitmap, None, None, _FOR_DISPLAY)
        finally:
            sheet.close()
        buffer = _java("java.nio.ByteBuffer").allocate(wide * high * 4)
        bitmap.copyPixelsToBuffer(buffer)  # ARGB_8888 lies in memory as red, green, blue, opacity
        bitmap.recycle()
        return Picture(wide, high, bytes(byte & 0xFF for byte in buffer.array()))

    def close(self) -> None:
        self._renderer.close()
        self._file.close()
