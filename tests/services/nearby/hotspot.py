"""A hotspot in network namespaces: the lead and each tablet in one of its own, and between them a poor radio link.

Where the kernel has no ``netem``, delay, loss and rate are made here: each namespace has a TUN device, and this
process carries the packets between them, late, thinned out and one after the other. Needs root and /dev/net/tun.
Nothing leaves the namespaces. SIGUSR1 cuts every link, SIGUSR2 mends them.

    python tests/services/nearby/hotspot.py --tablets 8 --delay 40 --loss 2 --rate 20 PREFIX
"""

from __future__ import annotations

import argparse
import ctypes
import fcntl
import heapq
import os
import random
import select
import signal
import socket
import struct
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

_TUNSETIFF, _IFF_TUN, _IFF_NO_PI = 0x400454CA, 0x0001, 0x1000
_LINE_UP = 400  # packets that may wait for the radio; more are dropped, as a router drops them


def possible() -> bool:
    """Whether this machine lets us."""
    return os.geteuid() == 0 and os.path.exists("/dev/net/tun") and os.path.exists("/usr/sbin/ip")


def address(number: int) -> str:
    """The lead is number 0, the tablets follow."""
    return f"10.77.0.{number + 1}"


def inside(prefix: str, number: int) -> list[str]:
    """What to put before a command to run it in that namespace."""
    return ["ip", "netns", "exec", f"{prefix}{number}"]


@contextmanager
def hotspot(prefix: str, *, tablets: int, delay: float = 0, loss: float = 0, rate: float = 0, seed: int = 1):
    """Up and running; gives the process that is the radio (signal it to cut and mend)."""
    names = [f"{prefix}{number}" for number in range(tablets + 1)]
    for name in names:
        subprocess.run(["ip", "netns", "del", name], check=False, capture_output=True)
        subprocess.run(["ip", "netns", "add", name], check=True)
    words = ["--tablets", tablets, "--delay", delay, "--loss", loss, "--rate", rate, "--seed", seed, prefix]
    radio = subprocess.Popen(
        [sys.executable, str(Path(__file__)), *map(str, words)], stdout=subprocess.PIPE, text=True
    )
    try:
        assert radio.stdout is not None and radio.stdout.readline() == "up\n"
        yield radio
    finally:
        radio.kill()
        radio.wait()
        for name in names:
            subprocess.run(["ip", "netns", "del", name], check=False)


def _tun_in(name: str) -> int:
    libc = ctypes.CDLL(None, use_errno=True)
    home = os.open("/proc/self/ns/net", os.O_RDONLY)
    there = os.open(f"/var/run/netns/{name}", os.O_RDONLY)
    try:
        if libc.setns(there, 0):
            raise OSError(ctypes.get_errno(), "setns")
        tun = os.open("/dev/net/tun", os.O_RDWR | os.O_NONBLOCK)
        fcntl.ioctl(tun, _TUNSETIFF, struct.pack("16sH", b"radio", _IFF_TUN | _IFF_NO_PI))
        return tun
    finally:
        libc.setns(home, 0)
        os.close(home)
        os.close(there)


def _main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--tablets", type=int, required=True)
    parser.add_argument("--delay", type=float, default=0, help="ms each way")
    parser.add_argument("--loss", type=float, default=0, help="percent each way")
    parser.add_argument(
        "--rate", type=float, default=0, help="Mbit/s, shared by all, as radio is; 0: no limit"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("prefix")
    asked = parser.parse_args()
    chance = random.Random(asked.seed)
    tuns: dict[bytes, int] = {}
    for number in range(asked.tablets + 1):
        name = f"{asked.prefix}{number}"
        tuns[socket.inet_aton(address(number))] = _tun_in(name)
        for words in (
            ["addr", "add", f"{address(number)}/24", "dev", "radio"],
            ["link", "set", "radio", "up"],
            ["link", "set", "lo", "up"],
        ):
            subprocess.run(["ip", "-n", name, *words], check=True)
    up = [True]
    signal.signal(signal.SIGUSR1, lambda *_: up.__setitem__(0, False))
    signal.signal(signal.SIGUSR2, lambda *_: up.__setitem__(0, True))
    print("up", flush=True)
    on_air: list[tuple[float, int, int, bytes]] = []
    count, free_at = 0, 0.0
    while True:
        wait = max(0.0, on_air[0][0] - time.monotonic()) if on_air else 1.0
        for tun in select.select(list(tuns.values()), [], [], wait)[0]:
            packet = os.read(tun, 65536)
            now = time.monotonic()
            to = tuns.get(packet[16:20])
            lost = chance.random() * 100 < asked.loss or len(on_air) > _LINE_UP
            if to is None or not up[0] or lost or packet[0] >> 4 != 4:
                continue
            free_at = max(free_at, now) + (len(packet) * 8 / (asked.rate * 1e6) if asked.rate else 0)
            count += 1
            heapq.heappush(on_air, (free_at + asked.delay / 1000, count, to, packet))
        now = time.monotonic()
        while on_air and on_air[0][0] <= now:
            _, _, to, packet = heapq.heappop(on_air)
            if up[0]:
                os.write(to, packet)


if __name__ == "__main__":
    _main()
