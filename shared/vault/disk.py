"""The disk: the few file operations the vault stands on, so that tests can make each of them fail.

``Disk`` is for POSIX (Linux, Android, macOS): ``flock`` guards against a second process, ``fdatasync`` and a directory
sync make a write last. ``windows_disk`` does the same there. Nothing here knows what the bytes mean.
"""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

from shared.errors import Refused, StoreBusy, WriteRefused

if sys.platform != "win32":
    import fcntl

    _OPEN_FLAGS = os.O_RDWR | os.O_CLOEXEC


class Disk:
    """The real disk. Every method raises ``OSError`` as the system gives it."""

    def open(self, path: Path) -> int:
        """Open an existing file for reading and writing."""
        return os.open(path, _OPEN_FLAGS)

    def create(self, path: Path) -> int:
        """Create a file that must not exist yet, readable by its owner only."""
        return os.open(path, _OPEN_FLAGS | os.O_CREAT | os.O_EXCL, 0o600)

    def lock(self, file: int) -> None:
        """Take the lock, which ends with this process at the latest; ``BlockingIOError`` where it is taken."""
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def read(self, file: int) -> bytes:
        """The whole content."""
        size = os.fstat(file).st_size
        pieces = []
        at = 0
        while at < size and (piece := os.pread(file, size - at, at)):
            pieces.append(piece)
            at += len(piece)
        return b"".join(pieces)

    def write(self, file: int, data: bytes, at: int) -> None:
        """Write all of ``data`` at a position."""
        view = memoryview(data)
        while view:
            written = os.pwrite(file, view, at)
            view, at = view[written:], at + written

    def reserve(self, file: int, at: int, size: int) -> None:
        """Have zeros stand ready at ``at``, so that a write there changes no length and takes no new block.

        They are really written: blocks that are only promised (``fallocate``) make every seventh tap slow.
        """
        self.write(file, bytes(size), at)

    def truncate(self, file: int, size: int) -> None:
        """Cut the file to ``size`` bytes."""
        os.ftruncate(file, size)

    def sync(self, file: int) -> None:
        """Return only when content and length are on the medium."""
        if sys.platform == "darwin":
            fcntl.fcntl(file, fcntl.F_FULLFSYNC)  # its fsync stops at the drive's own cache
        else:
            os.fdatasync(file)

    def replace(self, new: Path, old: Path) -> None:
        """Put ``new`` in the place of ``old`` in one step."""
        os.replace(new, old)

    def sync_directory(self, directory: Path) -> None:
        """Return only when the directory's names are on the medium."""
        handle = os.open(directory, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

    def close(self, file: int) -> None:
        """Close the file and let its lock go."""
        os.close(file)


def this_disk() -> Disk:
    """The disk of the system that this runs on."""
    if sys.platform == "win32":
        from shared.vault.windows_disk import WindowsDisk

        return WindowsDisk()
    return Disk()


def open_locked(disk: Disk, path: Path) -> int:
    """Open and lock the file that stands at ``path`` now.

    Another process may put a new generation in its place between the two steps; then the file just locked is
    no longer the one with that name and the new one is opened instead.
    """
    while True:
        file = disk.open(path)
        try:
            take_lock(disk, file)
            if os.path.samestat(os.fstat(file), os.stat(path)):
                return file
        except BaseException:
            disk.close(file)
            raise
        disk.close(file)


def take_lock(disk: Disk, file: int) -> None:
    """Lock, or say plainly that someone else has it."""
    try:
        disk.lock(file)
    except BlockingIOError:
        raise StoreBusy(
            "Another Quietbell has this store open.",
            kept="Nothing was changed.",
            todo="Close the other window or program first.",
        ) from None


_REASONS = {
    errno.ENOSPC: ("The disk is full.", "Make room on this device, then do it again."),
    errno.EDQUOT: ("The disk is full.", "Make room on this device, then do it again."),
    errno.EROFS: ("The disk can only be read.", "Take the write protection off, then do it again."),
    errno.EACCES: ("Quietbell may not write here.", "Give it the right to write here, then do it again."),
    errno.EPERM: ("Quietbell may not write here.", "Give it the right to write here, then do it again."),
    errno.ENOENT: ("The folder is not there.", "Check the file name."),
    errno.ENOTDIR: ("The folder is not there.", "Check the file name."),
    errno.EIO: ("The disk reports an error.", "Do it again; if it happens twice, change to another tablet."),
}
_OTHER = ("The disk refuses to write.", "Do it again; if it happens twice, change to another tablet.")


def write_refused(error: OSError) -> WriteRefused:
    """The plain message for a write that did not happen."""
    happened, todo = _REASONS.get(error.errno or 0, _OTHER)
    return WriteRefused(f"Not saved. {happened}", kept="Everything saved before is kept.", todo=todo)


def not_opened(error: OSError) -> Refused:
    """The plain message for a file that cannot be opened at all."""
    if isinstance(error, FileNotFoundError):
        return Refused("There is no store at this place.", todo="Check the file name.")
    if isinstance(error, FileExistsError):
        return Refused(
            "There is already a file at this place.", kept="It was not touched.", todo="Choose another name."
        )
    if isinstance(error, IsADirectoryError):
        return Refused("This is a folder, not a store.", todo="Choose a file.")
    reason, todo = _REASONS.get(error.errno or 0, _OTHER)
    return WriteRefused(f"The store cannot be opened. {reason}", kept="It was not changed.", todo=todo)
