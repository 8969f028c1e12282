"""Gathering over the local network, as the commands and the screens use it: ``Listener`` for the desk, ``Sender``
for the station. The protocol is ``sync/nearby``; here are the stores, the threads and the address."""

from fieldapp.services.nearby.address import PORT, Address, qr_matrix
from fieldapp.services.nearby.listener import Listener, TabletHeard
from fieldapp.services.nearby.sender import Sender, Sending, Sent

__all__ = ["PORT", "Address", "Listener", "Sender", "Sending", "Sent", "TabletHeard", "qr_matrix"]
