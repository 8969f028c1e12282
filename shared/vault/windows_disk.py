"""The disk on Windows: the vault's few file operations by that system's calls. Only these may live here.

A snapshot takes the place of a store that is open. Windows allows that only where every handle on the file shares
deletion, which the C library's own ``open`` does not, and where the new name is given with POSIX semantics (Windows 10
version 1709 and later, on NTFS). There is no ``pread``, no ``flock`` and no syncing of a directory there.
"""

from __future__ import annotations

import ctypes
import os
import sys
from pathlib import Path
from typing import Protocol

from shared.vault.disk import Disk

# The lock of Windows is on bytes, and binding: it lies where no store reaches, below the 2 GiB that ``locking`` knows.
LOCKED_BYTE = 0x7FFF_FFF0


class Calls(Protocol):
    """What only this system can do; tests give a stand-in. Every call raises ``OSError``."""

    def open(self, path: Path, *, new: bool) -> int:
        """A descriptor for reading and writing, binary, not inherited, that shares everything; ``new``: create."""
        ...

    def lock(self, file: int, at: int) -> None:
        """Lock the byte at ``at`` until the file is closed; ``PermissionError`` where another has it."""
        ...

    def replace(self, new: Path, old: Path) -> None:
        """Put ``new`` in the place of ``old`` although both are open."""
        ...


class WindowsDisk(Disk):
    """As ``Disk``, with the calls of Windows. Descriptors have one position here, which every call sets anew."""

    def __init__(self, calls: Calls | None = None) -> None:
        self._calls = calls or windows_calls()

    def open(self, path: Path) -> int:
        """Open an existing file for reading and writing."""
        return self._calls.open(path, new=False)

    def create(self, path: Path) -> int:
        """Create a file that must not exist yet; who may read it is the folder's matter."""
        return self._calls.open(path, new=True)

    def lock(self, file: int) -> None:
        """Take the lock, which ends with this process at the latest; ``BlockingIOError`` where it is taken."""
        try:
            self._calls.lock(file, LOCKED_BYTE)
        except PermissionError:
            raise BlockingIOError from None

    def read(self, file: int) -> bytes:
        """The whole content."""
        os.lseek(file, 0, os.SEEK_SET)
        pieces = []
        while piece := os.read(file, 2**20):
            pieces.append(piece)
        return b"".join(pieces)

    def write(self, file: int, data: bytes, at: int) -> None:
        """Write all of ``data`` at a position."""
        os.lseek(file, at, os.SEEK_SET)
        view = memoryview(data)
        while view:
            view = view[os.write(file, view) :]

    def sync(self, file: int) -> None:
        """Return only when content and length are on the medium."""
        os.fsync(file)

    def replace(self, new: Path, old: Path) -> None:
        """Put ``new`` in the place of ``old`` in one step."""
        self._calls.replace(new, old)

    def sync_directory(self, directory: Path) -> None:
        """Nothing to call: NTFS keeps a journal of its names."""


# Constants of winnt.h, fileapi.h and winbase.h, as Microsoft documents them (from memory).
GENERIC_READ, GENERIC_WRITE, DELETE = 0x8000_0000, 0x4000_0000, 0x0001_0000
SHARE_READ_WRITE_DELETE = 0x7
CREATE_NEW, OPEN_EXISTING = 1, 3
FILE_ATTRIBUTE_NORMAL = 0x80
FILE_RENAME_INFO_EX = 22  # FILE_INFO_BY_HANDLE_CLASS.FileRenameInfoEx
REPLACE_IF_EXISTS, POSIX_SEMANTICS = 0x1, 0x2
_NOT_KNOWN_THERE = {
    1,
    50,
    87,
}  # ERROR_INVALID_FUNCTION, _NOT_SUPPORTED, _INVALID_PARAMETER: FAT, an older Windows


def rename_info(name: str) -> ctypes.Structure:
    """``FILE_RENAME_INFO`` that says: take this name, be it there already and open."""
    letters = name.encode("utf-16-le", "surrogatepass")

    class FileRenameInfo(ctypes.Structure):
        _fields_ = (
            ("flags", ctypes.c_uint32),
            ("root_directory", ctypes.c_void_p),
            ("file_name_length", ctypes.c_uint32),  # bytes
            ("file_name", ctypes.c_ubyte * (len(letters) + 2)),
        )

    ending = (ctypes.c_ubyte * (len(letters) + 2)).from_buffer_copy(letters + b"\0\0")
    return FileRenameInfo(REPLACE_IF_EXISTS | POSIX_SEMANTICS, None, len(letters), ending)


def windows_calls() -> Calls:
    """The system's own; only on Windows."""
    if sys.platform != "win32":
        raise OSError("this is not Windows")
    import msvcrt

    kernel = ctypes.WinDLL("kernel32", use_last_error=True)
    kernel.CreateFileW.restype = ctypes.c_void_p
    kernel.CreateFileW.argtypes = [
        *(ctypes.c_wchar_p, ctypes.c_uint32, ctypes.c_uint32, ctypes.c_void_p),
        *(ctypes.c_uint32, ctypes.c_uint32, ctypes.c_void_p),
    ]
    kernel.SetFileInformationByHandle.argtypes = [
        *(ctypes.c_void_p, ctypes.c_int, ctypes.c_void_p, ctypes.c_uint32)
    ]
    kernel.CloseHandle.argtypes = [ctypes.c_void_p]
    no_handle = ctypes.c_void_p(-1).value

    def handle_of(path: Path, access: int, how: int) -> int:
        shared, plain = SHARE_READ_WRITE_DELETE, FILE_ATTRIBUTE_NORMAL
        handle: int = kernel.CreateFileW(str(path), access, shared, None, how, plain, None)
        if handle == no_handle:
            raise ctypes.WinError(ctypes.get_last_error())
        return handle

    class WindowsCalls:
        def open(self, path: Path, *, new: bool) -> int:
            how = CREATE_NEW if new else OPEN_EXISTING
            handle = handle_of(path, GENERIC_READ | GENERIC_WRITE, how)
            return msvcrt.open_osfhandle(handle, os.O_BINARY | os.O_NOINHERIT)

        def lock(self, file: int, at: int) -> None:
            os.lseek(file, at, os.SEEK_SET)
            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)

        def replace(self, new: Path, old: Path) -> None:
            handle = handle_of(new, DELETE, OPEN_EXISTING)
            try:
                info = rename_info(os.path.abspath(old))
                size = ctypes.sizeof(info)
                if kernel.SetFileInformationByHandle(handle, FILE_RENAME_INFO_EX, ctypes.byref(info), size):
                    return
                error = ctypes.get_last_error()
            finally:
                kernel.CloseHandle(handle)
            if error not in _NOT_KNOWN_THERE:
                raise ctypes.WinError(error)
            os.replace(new, old)  # does where nothing stands in the way; a snapshot is tried again later

    return WindowsCalls()
