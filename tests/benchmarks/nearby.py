"""Gathering over the local network against plain TLS copying of the same bytes. Run by hand.

    python tests/benchmarks/nearby.py                   # all three, some minutes
    python tests/benchmarks/nearby.py --only protocol

``protocol``: batches that nobody looks into, through the whole protocol (frames, session, acknowledgements, TLS), on
loopback; against the same bytes written into one TLS socket and read from the other. What the protocol itself costs.
A full batch, a thousand entries, is about 13 KiB packed; a whole day's return some 256 KiB.
``hotspot``: eight tablets send 20,000 entries each through one shared radio link of some Mbit/s into one book,
everything included (signatures, sealing, decoding, one durable transaction a batch); against copying the entries'
canonical bytes by plain TLS through the same link, all at once. Needs root (network namespaces and TUN devices).
``loopback``: the same without any link between them. The store, not the network, sets this pace.
"""

from __future__ import annotations

import argparse
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from sync.nearby.authority import Authority, Role
from sync.nearby.line import Line, Patience, answer, call, context_for
from sync.nearby.messages import VERSION, Account, End, Hello, Welcome
from sync.nearby.session import LEAD, TABLET
from sync.nearby.talk import Talk
from tests.services.nearby import big_visit, hotspot

NOW = datetime.now(UTC)
PATIENCE = Patience()


class Pair:
    """A lead and a tablet on loopback, with true certificates."""

    def __init__(self) -> None:
        authority = Authority.make("visit", NOW)
        self.contexts = {
            role: context_for(role, authority.certificate, authority.issue(role, "x", NOW))
            for role in (Role.LEAD, Role.TABLET)
        }

    def time(self, lead: Callable[[Line], None], tablet: Callable[[Line], None]) -> float:
        """Seconds from the moment the line stands until both have done their part, each in a process of its own."""
        with socket.create_server(("127.0.0.1", 0)) as door:
            if (child := os.fork()) == 0:
                with closing(answer(door.accept()[0], self.contexts[Role.LEAD], PATIENCE, NOW)) as line:
                    lead(line)
                os._exit(0)
            port = door.getsockname()[1]
            with closing(call("127.0.0.1", port, self.contexts[Role.TABLET], PATIENCE, NOW)) as line:
                began = time.perf_counter()
                tablet(line)
                took = time.perf_counter() - began
            assert os.waitpid(child, 0)[1] == 0
            return took


def protocol(megabytes: int = 64, rounds: int = 5) -> None:
    """The protocol alone."""
    pair = Pair()
    for size in (1024 * 1024, 256 * 1024, 64 * 1024, 16 * 1024):
        batches = [os.urandom(size)] * (megabytes * 1024 * 1024 // size)

        def lead(line: Line) -> None:
            talk = Talk(LEAD, line)
            talk.hear()
            talk.say(Welcome(VERSION))
            talk.hear()
            talk.say(Account({}))
            talk.take(len)
            talk.say(End(0, 0))
            talk.hear()

        def tablet(line: Line, batches: list[bytes] = batches) -> None:
            talk = Talk(TABLET, line)
            talk.say(Hello(VERSION, "visit", "x", "x", 0, bytes(32)))
            talk.hear()
            talk.say(Account({}))
            talk.hear()
            talk.give(batches, lambda _ack: None)
            talk.say(End(talk.session.said, 0))
            talk.hear()
            talk.say(End(talk.session.said, 0))

        total = sum(map(len, batches))

        def copy_in(line: Line, total: int = total) -> None:
            got = 0
            while got < total:
                got += len(line._socket.recv(64 * 1024))
            line._socket.send(b"x")

        def copy_out(line: Line, batches: list[bytes] = batches) -> None:
            for batch in batches:
                line._socket.sendall(batch)
            line._socket.recv(1)

        ours, plain = [], []
        for _ in range(rounds):
            ours.append(pair.time(lead, tablet))
            plain.append(pair.time(copy_in, copy_out))
        a, b = median(ours), median(plain)
        what = f"protocol alone, batches of {size // 1024} KiB"
        row(what, f"{megabytes / a:.0f} MB/s", f"{megabytes / b:.0f} MB/s", b / a)


def row(what: str, ours: str, plain: str, ratio: float) -> None:
    """One line of the table; the ratio is of speeds, so that more is better."""
    print(f"| {what} | {ours} | {plain} | {ratio:.2f} |", flush=True)


def whole(laid_out: Path, tablets: int, rate: float) -> None:
    """Everything, through a link of ``rate`` Mbit/s (0: loopback), on a copy of a visit laid out before."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(shutil.copytree(laid_out, Path(name) / "visit"))
        names = [f"T{number}" for number in range(1, tablets + 1)]
        size = sum(len(text) for each in names for text in big_visit.own_entries(folder, each).values())
        if rate:
            with hotspot.hotspot("qbm", tablets=tablets, delay=5, rate=rate):
                prefixes = [hotspot.inside("qbm", number) for number in range(tablets + 1)]
                where = hotspot.address(0)
                plain = _copy_time(where, prefixes, size // tablets)
                ours = _gather_time(folder, names, where, prefixes)
        else:
            prefixes = [[]] * (tablets + 1)
            plain = _copy_time("127.0.0.1", prefixes, size // tablets)
            ours = _gather_time(folder, names, "127.0.0.1", prefixes)
        count = big_visit.check_exactly_once(folder, names)
    link = f"one radio link of {rate:g} Mbit/s" if rate else "loopback"
    what = f"everything, {link}: {tablets} tablets, {count:,} entries, {size / 1e6:.0f} MB"
    row(what, f"{ours:.1f} s", f"{plain:.1f} s", plain / ours)


def _gather_time(folder: Path, names: list[str], where: str, prefixes: list[list[str]]) -> float:
    lead, address = big_visit.listening(folder, "--once", len(names), prefix=prefixes[0], address=where)
    began = time.perf_counter()
    senders = [
        big_visit.command("send", f"{name}.store", "--to", address, prefix=prefix, cwd=folder)
        for name, prefix in zip(names, prefixes[1:], strict=True)
    ]
    for sender in senders:
        _, trouble = sender.communicate()
        assert sender.returncode == 0, trouble
    took = time.perf_counter() - began
    lead.communicate()
    return took


def _copy_time(where: str, prefixes: list[list[str]], size: int) -> float:
    """``size`` random bytes from each tablet by plain TLS, each side a process of its own, as ours are."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            [
                "openssl",
                "req",
                "-x509",
                "-newkey",
                "ed25519",
                "-nodes",
                "-keyout",
                "k",
                "-out",
                "c",
                "-subj",
                "/CN=x",
            ],
            cwd=folder,
            check=True,
            capture_output=True,
        )
        me = [sys.executable, str(Path(__file__)), "--copy"]
        count = len(prefixes) - 1
        server = subprocess.Popen(
            [*prefixes[0], *me, "in", where, str(count), str(size)],
            cwd=folder,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert server.stdout is not None
        port = server.stdout.readline().strip()
        began = time.perf_counter()
        clients = [
            subprocess.Popen([*prefix, *me, "out", where, port, str(size)], cwd=folder)
            for prefix in prefixes[1:]
        ]
        for client in clients:
            assert client.wait() == 0
        server.wait()
        return time.perf_counter() - began


def _copy(way: str, where: str, number: int, size: int) -> None:
    import ssl

    if way == "in":
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.minimum_version = ssl.TLSVersion.TLSv1_3
        context.load_cert_chain("c", "k")
        with socket.create_server((where, 0), backlog=64) as door:
            print(door.getsockname()[1], flush=True)

            def serve(plain: socket.socket) -> None:
                with context.wrap_socket(plain, server_side=True) as secured:
                    got = 0
                    while got < size:
                        got += len(secured.recv(64 * 1024))
                    secured.send(b"x")

            threads = [threading.Thread(target=serve, args=(door.accept()[0],)) for _ in range(number)]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
        return
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.load_verify_locations("c")
    with context.wrap_socket(socket.create_connection((where, number))) as secured:
        secured.sendall(os.urandom(size))
        secured.recv(1)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--only", choices=("protocol", "hotspot", "loopback"))
    parser.add_argument("--tablets", type=int, default=8)
    parser.add_argument("--entries", type=int, default=20_000)
    parser.add_argument("--rate", type=float, nargs="+", help="of the hotspot, Mbit/s (20, 50 and 100)")
    parser.add_argument("--copy", nargs=4, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.copy:
        way, where, number, size = asked.copy
        _copy(way, where, int(number), int(size))
        return
    print("| what | Quietbell | plain TLS | ratio |")
    print("| --- | --- | --- | --- |")
    if asked.only in (None, "protocol"):
        protocol()
    if asked.only == "protocol":
        return
    with tempfile.TemporaryDirectory() as name:
        big_visit.lay_out(Path(name), tablets=asked.tablets, entries=asked.entries)
        if asked.only in (None, "hotspot") and hotspot.possible():
            for rate in asked.rate or (20, 50, 100):
                whole(Path(name), asked.tablets, rate)
        elif asked.only in (None, "hotspot"):
            print("| everything, radio link | not run: needs root and /dev/net/tun | | |")
        if asked.only in (None, "loopback"):
            whole(Path(name), asked.tablets, 0)


if __name__ == "__main__":
    main()
