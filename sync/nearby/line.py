"""The line: one TLS 1.3 connection with certificates on both sides, and its time limits. Nothing about messages here.

The certificates of the visit's own authority decide who may talk; addresses and names decide nothing.
"""

from __future__ import annotations

import contextlib
import os
import socket
import ssl
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, PrivateFormat

from shared.errors import QuietbellError
from sync.nearby.authority import Identity, Role
from sync.nearby.troubles import (
    another_visit,
    caller_finds_lead_out_of_date,
    caller_of_another_visit,
    cut,
    nobody_there,
    not_quietbell,
    out_of_date,
    stalled,
    stopped,
    told_out_of_date,
)

READ = 64 * 1024
_LOOK_UP = 0.25  # seconds between two looks whether a person wants to stop
_NOT_YET_VALID, _HAS_EXPIRED = (
    9,
    10,
)  # X509_V_ERR_CERT_NOT_YET_VALID, X509_V_ERR_CERT_HAS_EXPIRED (x509_vfy.h)


@dataclass(frozen=True, slots=True)
class Patience:
    """How long one side waits, in seconds: for the connection and its handshake, for the next bytes, and for one
    whole message from the moment it is due."""

    handshake: float = 10.0
    idle: float = 60.0
    message: float = 240.0


def context_for(role: Role, authority: bytes, identity: Identity) -> ssl.SSLContext:
    """TLS 1.3 and nothing else, our certificate, and only the visit's authority trusted."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER if role is Role.LEAD else ssl.PROTOCOL_TLS_CLIENT)
    context.minimum_version = ssl.TLSVersion.TLSv1_3
    context.check_hostname = False
    context.verify_mode = ssl.CERT_REQUIRED
    context.verify_flags |= ssl.VERIFY_X509_STRICT
    context.load_verify_locations(cadata=authority)
    if role is Role.LEAD:
        context.num_tickets = 0
    # ``ssl`` takes a key only from a file. What lies there for that moment is locked by a password that never does.
    password = os.urandom(32).hex().encode("ascii")
    key = Ed25519PrivateKey.from_private_bytes(identity.key)
    locked = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(password))
    certificate = x509.load_der_x509_certificate(identity.certificate).public_bytes(Encoding.PEM)
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "identity")
        with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(certificate + locked)
        context.load_cert_chain(path, password=password)
    return context


class Line:
    """One connection, for one thread."""

    def __init__(
        self, connected: ssl.SSLSocket, patience: Patience, stopping: Callable[[], bool] = lambda: False
    ) -> None:
        self._socket = connected
        self._patience = patience
        self._stopping = stopping
        connected.settimeout(_LOOK_UP)
        self.received = self.sent = 0  # bytes

    @property
    def peer_certificate(self) -> bytes:
        """The other side's certificate (DER), verified by TLS."""
        return self._socket.getpeercert(binary_form=True) or b""

    def deadline(self) -> float:
        """Until when a message that is due now must be whole."""
        return time.monotonic() + self._patience.message

    def receive(self, deadline: float) -> bytes:
        """The next bytes, empty at the end; raises ``Cut``, ``Stalled``, or ``Stopped`` where ``stopping`` says so."""
        deadline = self._patient_until(deadline)
        while True:
            if self._stopping():
                raise stopped()
            try:
                data = self._socket.recv(READ)
            except (OSError, ValueError) as error:
                _go_on_after(error, deadline)
            else:
                self.received += len(data)
                return data

    def send(self, data: bytes) -> None:
        """Send all of it; raises ``Cut`` or ``Stalled``."""
        whole = self.deadline()
        left = memoryview(data)
        deadline = self._patient_until(whole)
        while left:
            # After a look up the same bytes are offered again, as TLS wants it.
            try:
                left = left[self._socket.send(left[:READ]) :]
            except (OSError, ValueError) as error:
                _go_on_after(error, deadline)
                if self._stopping():
                    raise stopped() from None
            else:
                deadline = self._patient_until(whole)
        self.sent += len(data)

    def _patient_until(self, deadline: float) -> float:
        """How long the next bytes may take; raises ``Stalled`` where the whole message is overdue."""
        now = time.monotonic()
        if now >= deadline:
            raise stalled()
        return min(deadline, now + self._patience.idle)

    def close(self) -> None:
        """Close at once."""
        self._socket.close()

    def hang_up(self) -> None:
        """Close so that what was said last still arrives: stop sending, then read off what is on its way."""
        hang_up(self._socket)


def hang_up(connected: socket.socket) -> None:
    """Stop sending, take what still comes for at most a second and a megabyte, and close."""
    with contextlib.suppress(OSError):
        connected.shutdown(socket.SHUT_WR)
        until = time.monotonic() + 1.0
        for _ in range(16):
            left = until - time.monotonic()
            if left <= 0:
                break
            connected.settimeout(left)
            if not connected.recv(READ):
                break
    connected.close()


def _go_on_after(error: OSError | ValueError, deadline: float) -> None:
    """Where a socket's error was only a look up before the deadline: nothing. Otherwise raise it in our words."""
    if isinstance(error, TimeoutError):
        if time.monotonic() < deadline:
            return
        raise stalled() from None
    raise (told_by_alert(error) if isinstance(error, ssl.SSLError) else cut()) from None


def told_by_alert(error: ssl.SSLError) -> QuietbellError:
    """What a fault on an open line means. In TLS 1.3 the caller learns only here that its certificate was refused."""
    reason = str(error.reason or "")
    if "CERTIFICATE_EXPIRED" in reason:
        return told_out_of_date()
    if "UNKNOWN_CA" in reason or "CERTIFICATE" in reason or "DECRYPT_ERROR" in reason:
        return another_visit()
    return cut()


def call(
    host: str,
    port: int,
    context: ssl.SSLContext,
    patience: Patience,
    now: datetime,
    stopping: Callable[[], bool] = lambda: False,
) -> Line:
    """Connect to the lead. Raises ``Cut`` (nobody there), ``ForeignFile`` (another visit, or no Quietbell at all),
    ``Refused`` (a certificate out of date by the clock ``now``) or ``Stalled``."""
    address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    try:
        plain = socket.create_connection((host, port), timeout=patience.handshake)
    except TimeoutError:
        raise nobody_there(address, "no answer in time") from None
    except (OSError, UnicodeError) as error:
        detail = (
            "no device of that name" if isinstance(error, socket.gaierror | UnicodeError) else "not reachable"
        )
        if isinstance(error, ConnectionRefusedError):
            detail = "the device is there, but is not listening"
        raise nobody_there(address, detail) from None
    try:
        plain.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        plain.settimeout(patience.handshake)
        return Line(context.wrap_socket(plain), patience, stopping)
    except ssl.SSLCertVerificationError as error:
        if error.verify_code in (_HAS_EXPIRED, _NOT_YET_VALID):
            raise out_of_date("lead", now) from None
        raise another_visit() from None
    except TimeoutError:
        raise stalled() from None
    except (ssl.SSLEOFError, ConnectionError):
        raise cut() from None
    except (OSError, ValueError):
        raise not_quietbell() from None
    finally:
        # On success the TLS socket has taken the connection over, and this closes nothing.
        plain.close()


def answer(
    plain: socket.socket,
    context: ssl.SSLContext,
    patience: Patience,
    now: datetime,
    stopping: Callable[[], bool] = lambda: False,
) -> Line:
    """Take a caller's connection. Raises as ``call`` does; the caller has been told by TLS, and hung up on."""
    try:
        plain.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        plain.settimeout(patience.handshake)
        secured = context.wrap_socket(plain, server_side=True, do_handshake_on_connect=False)
    except (OSError, ValueError):
        plain.close()
        raise cut() from None
    try:
        secured.do_handshake()
        return Line(secured, patience, stopping)
    except ssl.SSLCertVerificationError as error:
        hang_up(secured)
        if error.verify_code in (_HAS_EXPIRED, _NOT_YET_VALID):
            raise out_of_date("tablet", now) from None
        raise caller_of_another_visit() from None
    except TimeoutError:
        secured.close()
        raise stalled() from None
    except ssl.SSLError as error:
        hang_up(secured)
        if "CERTIFICATE_EXPIRED" in str(error.reason or ""):
            raise caller_finds_lead_out_of_date() from None
        raise caller_of_another_visit() from None
    except (OSError, ValueError):
        secured.close()
        raise cut() from None
