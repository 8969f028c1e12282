"""One ``quietbell`` command as if it were given at another moment: ``python -m demo.at MOMENT COMMAND ...``.

Only the device's clock is set; everything else is the real command. So that a demo of last October prints
October's dates, and so that a tablet may have a wrong clock. With ``QUIETBELL_DEMO_KILL=CHILD:N`` the process
kills itself, as a crash would, right after the N-th answer of that child (a student number) was acknowledged.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from datetime import datetime, timedelta

from fieldapp.cli import main
from fieldapp.platform.clock import DeviceClock
from fieldapp.services.walking import Walking
from shared.hearing.tone_walk import ToneWalk

KILL = "QUIETBELL_DEMO_KILL"


def set_device_clock(moment: datetime) -> None:
    """Let the device's clock run on from ``moment`` (with offset) in this process."""
    started = time.monotonic()

    def now(self: DeviceClock) -> datetime:
        return moment + timedelta(seconds=time.monotonic() - started)

    DeviceClock.now = now  # type: ignore[method-assign]


def kill_after_answer(number: str, count: int) -> None:
    """Kill this process without a word once the child's ``count``-th answer has been acknowledged."""
    answer = Walking.answer

    def answer_and_die(self: Walking, heard: bool, presentations: int = 0) -> ToneWalk:
        walk = answer(self, heard, presentations)
        child = self.current[0] if self.current else ""
        if self._standing(child).person.student_number == number and len(walk.answers) == count:
            os.kill(os.getpid(), signal.SIGKILL)
        return walk

    Walking.answer = answer_and_die  # type: ignore[method-assign]


if __name__ == "__main__":
    set_device_clock(datetime.fromisoformat(sys.argv[1]))
    if KILL in os.environ:
        who, _, when = os.environ[KILL].partition(":")
        kill_after_answer(who, int(when))
    sys.exit(main(sys.argv[2:]))
