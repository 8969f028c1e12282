"""The lead's address: how it is written, typed, found out and drawn. No connections here."""

from __future__ import annotations

import ipaddress
import re
import socket
from dataclasses import dataclass

import segno

from shared.errors import WrongUse

#: Where the lead listens unless told otherwise: between the registered and the passing ports, like any other.
PORT = 41877
_HOST = re.compile(r"[A-Za-z0-9._-]{1,253}\Z")
_DIGITS = re.compile(r"[0-9.]*\Z")
_PHRASE = re.compile(r"[a-z]{2,12}(?:[- ][a-z]{2,12}){2}\Z")
# Asking which own address would be used towards these sends nothing: private networks (RFC 1918, RFC 4193) as
# hotspots give them, and addresses that belong to nobody (RFC 5737).
_TOWARDS = (
    "192.168.43.2",
    "192.168.1.2",
    "192.168.0.2",
    "192.168.137.2",
    "172.20.10.2",
    "10.0.0.2",
    "192.0.2.2",
)


@dataclass(frozen=True, slots=True)
class Address:
    """Where the lead listens; ``phrase`` is the check phrase, where it came along."""

    host: str
    port: int = PORT
    phrase: str = ""

    def __str__(self) -> str:
        """In full: ``HOST:PORT``."""
        return f"[{self.host}]:{self.port}" if ":" in self.host else f"{self.host}:{self.port}"

    @property
    def to_type(self) -> str:
        """What a person has to type: the host alone where the port is the usual one."""
        return self.host if self.port == PORT else str(self)

    @property
    def qr_text(self) -> str:
        """What the QR code says: the address and the check phrase."""
        return f"{self} {self.phrase}" if self.phrase else str(self)

    @classmethod
    def parse(cls, text: str) -> Address:
        """From what a person typed or a QR code said: ``HOST``, ``HOST:PORT``, with or without a phrase.

        Raises ``WrongUse``.
        """
        place, _, phrase = text.strip().partition(" ")
        phrase = phrase.strip().lower().replace(" ", "-")
        if phrase and not _PHRASE.match(phrase):
            raise _no_address()
        if place.startswith("["):
            host, bracket, rest = place[1:].partition("]")
            if not bracket or (rest and not rest.startswith(":")):
                raise _no_address()
            port = rest[1:]
        elif place.count(":") > 1:
            host, port = place, ""
        else:
            host, _, port = place.partition(":")
        if not _is_host(host):
            raise _no_address()
        if port and not (port.isascii() and port.isdigit() and len(port) <= 5 and 0 < int(port) < 65536):
            raise _no_address()
        return cls(host, int(port) if port else PORT, phrase)


def _is_host(host: str) -> bool:
    """Whether it is an address, or may be a name. Of digits alone it must be an address in full: systems read
    ``192.168.43`` and ``192.168.043.1`` as addresses too, but not as the ones that are meant."""
    if ":" not in host and not _DIGITS.match(host):
        return bool(_HOST.match(host))
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True


def own_hosts() -> list[str]:
    """The addresses under which this device can probably be reached, likeliest first; none without a network.

    Nothing is sent to find out.
    """
    found: list[str] = []
    for host in _TOWARDS:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
            try:
                asked.connect((host, 9))
                own = asked.getsockname()[0]
            except OSError:
                continue
        if own not in found and not own.startswith(("127.", "0.")):
            found.append(own)
    return found


def qr_matrix(text: str) -> tuple[tuple[bool, ...], ...]:
    """A QR code (ISO/IEC 18004) as rows of modules, dark ones true, with its quiet zone of four modules."""
    code = segno.make_qr(text, error="m")
    return tuple(tuple(bool(module) for module in row) for row in code.matrix_iter(border=4))


def _no_address() -> WrongUse:
    return WrongUse(
        "This is not an address as the lead's screen shows it.",
        todo="Type it as 192.168.43.1 or 192.168.43.1:41877.",
    )
