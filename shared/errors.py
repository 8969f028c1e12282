"""Every error that a person may meet: what happened, what was kept, what to do next.

One base, few leaves. A message never holds a name, a birth date or a result: it may end in a log.
The command line turns a leaf into its exit status; a screen shows the same three sentences.
"""

from __future__ import annotations


class QuietbellError(Exception):
    """Base of all errors shown to a person.

    ``happened``, ``kept`` and ``todo`` are whole sentences in plain English; ``kept`` and ``todo``
    may be empty. ``exit_status`` is what the ``quietbell`` command ends with.
    """

    exit_status = 3

    def __init__(self, happened: str, *, kept: str = "", todo: str = "") -> None:
        self.happened = happened
        self.kept = kept
        self.todo = todo
        super().__init__(" ".join(part for part in (happened, kept, todo) if part))


class WrongUse(QuietbellError):
    """The command's words are off (exit status 2)."""

    exit_status = 2


class Refused(QuietbellError):
    """The input was understood and is refused by the rules, with the reason (exit status 3)."""


class StoreBusy(Refused):
    """Another process has the store open."""


class WriteRefused(Refused):
    """The disk took no more (full, read-only, permission, I/O error); the view is as it was before."""


class WrongPassphrase(QuietbellError):
    """The passphrase opens no slot of this file (exit status 4)."""

    exit_status = 4


class Damaged(QuietbellError):
    """The file is ours but its content was altered or cut (exit status 5)."""

    exit_status = 5


class ForeignFile(QuietbellError):
    """The file is of another kind, or belongs to another visit (exit status 5)."""

    exit_status = 5


class NewerVersion(QuietbellError):
    """The file was written by a newer Quietbell than this one (exit status 5)."""

    exit_status = 5
