"""The lead's address as it is shown, typed and drawn."""

from __future__ import annotations

import ipaddress
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.services.nearby import PORT, Address, Listener, qr_matrix
from fieldapp.services.nearby.address import own_hosts
from shared.errors import WrongUse
from sync.nearby.phrase import WORDS


@pytest.mark.parametrize(
    ("typed", "address"),
    [
        ("192.168.43.1", Address("192.168.43.1", PORT)),
        (" 192.168.43.1:5000 ", Address("192.168.43.1", 5000)),
        ("192.168.43.1:5000 Amber otter cedar", Address("192.168.43.1", 5000, "amber-otter-cedar")),
        ("lead.local", Address("lead.local", PORT)),
        ("fe80::1", Address("fe80::1", PORT)),
        ("[fe80::1]:5000", Address("fe80::1", 5000)),
        ("fe80::1%wlan0", Address("fe80::1%wlan0", PORT)),
    ],
)
def test_what_a_person_types(typed, address):
    assert Address.parse(typed) == address


@pytest.mark.parametrize(
    "typed",
    [
        *(
            "",
            ":",
            "a b",
            "host:0",
            "host:65536",
            "host:٣",
            "[fe80::1",
            "http://x",
            "1.2.3.4:5 amber",
            "a" * 300,
        ),
        # Systems read these as 192.168.0.43, 192.168.35.1 (octal) and 114.134.133.117, which nobody means.
        *("192.168.43", "192.168.043.1", "1921684341", "192.168.43.256", "192.168.43.1.", "192..43.1"),
    ],
)
def test_what_is_no_address(typed):
    with pytest.raises(WrongUse):
        Address.parse(typed)


hosts = st.one_of(st.ip_addresses(v=4), st.ip_addresses(v=6)).map(str)
phrases = st.one_of(st.just(""), st.lists(st.sampled_from(WORDS), min_size=3, max_size=3).map("-".join))


@given(hosts, st.integers(1, 65535), phrases)
def test_what_the_qr_code_says_is_read_back(host, port, phrase):
    address = Address(host, port, phrase)
    assert Address.parse(address.qr_text) == address


def test_only_an_unusual_port_has_to_be_typed():
    assert Address("192.168.43.1").to_type == "192.168.43.1"
    assert Address("192.168.43.1", 5000).to_type == "192.168.43.1:5000"


def test_a_qr_code_is_square_with_a_quiet_zone_and_its_three_finders():
    """ISO/IEC 18004: 17 + 4 x version modules a side, four light ones around, 7 x 7 finder patterns in three corners
    (from memory)."""
    rows = qr_matrix("192.168.43.1:41877 amber-otter-cedar")
    side = len(rows)
    assert all(len(row) == side for row in rows) and (side - 8 - 17) % 4 == 0
    assert not any(rows[0]) and not any(rows[3]) and not any(row[3] for row in rows)
    finder = ["#######", "#     #", "# ### #", "# ### #", "# ### #", "#     #", "#######"]
    for top, left in ((4, 4), (4, side - 11), (side - 11, 4)):
        found = ["".join("# "[not m] for m in row[left : left + 7]) for row in rows[top : top + 7]]
        assert found == finder


@pytest.mark.parametrize("everywhere", ["0.0.0.0", "::"])
def test_listening_everywhere_shows_where_that_is(visit, monkeypatch, everywhere):
    monkeypatch.setattr("fieldapp.services.nearby.listener.own_hosts", lambda: ["192.168.43.7"])
    listener = Listener(visit.desk, address=everywhere, port=0)
    listener.start()
    try:
        assert [address.host for address in listener.addresses] == ["192.168.43.7"]
    finally:
        listener.close()


def test_own_addresses_are_addresses_and_not_this_device_alone():
    for host in own_hosts():
        assert not ipaddress.ip_address(host).is_loopback


def test_the_command_shows_an_address_even_without_a_network(visit, capsys, monkeypatch):
    from fieldapp.cli.nearby import _say_where

    monkeypatch.setattr("fieldapp.services.nearby.listener.own_hosts", list)
    listener = Listener(visit.desk, port=0)
    listener.start()
    try:
        assert listener.addresses == () and listener.qr() == ()
        _say_where(listener, as_json=True)
        told = json.loads(capsys.readouterr().out)
        assert told == {"listening": [f"127.0.0.1:{listener.port}"], "phrase": listener.phrase}
    finally:
        listener.close()
