"""The command itself, in processes of its own: on loopback, killed at random, captured, and over a poor radio link.

The long forms: ``pytest -m long tests/services/nearby`` (200 kills; eight tablets of 20,000 entries; a hotspot of
network namespaces, which needs root and /dev/net/tun).
"""

from __future__ import annotations

import json
import random
import shutil
import signal
import socket
import subprocess
import time
from contextlib import closing

import pytest

from fieldapp.services.desk import Desk
from fieldapp.services.station import Station
from tests.services.nearby import big_visit, hotspot
from tests.services.nearby.big_visit import PASSPHRASE, check_exactly_once, command, lay_out, listening


def send_all(folder, names, address, prefixes=None):
    prefixes = prefixes or [[]] * len(names)
    senders = [
        command("send", f"{name}.store", "--to", address, "--json", prefix=prefix, cwd=folder)
        for name, prefix in zip(names, prefixes, strict=True)
    ]
    came = []
    for sender in senders:
        out, trouble = sender.communicate()
        assert sender.returncode == 0, trouble
        came.append(json.loads(out))
    return came


def end_of(lead) -> dict:
    out, trouble = lead.communicate(timeout=600)
    assert lead.returncode == 0, trouble
    assert trouble == ""
    return json.loads(out)


def gather(folder, names, **more):
    lead, address = listening(folder, "--once", len(names), **more)
    came = send_all(folder, names, address)
    told = end_of(lead)
    assert {tablet["state"] for tablet in told["tablets"]} == {"done"}
    return came, told


def test_three_tablets_at_once_arrive_exactly_once(tmp_path):
    names = lay_out(tmp_path, tablets=3, entries=300)
    came, told = gather(tmp_path, names)
    assert check_exactly_once(tmp_path, names) == 900
    assert [each["held"] for each in came] == [300] * 3
    assert sum(tablet["new"] for tablet in told["tablets"]) == 900
    again, _ = gather(tmp_path, names)
    assert [(each["sent"], each["new"]) for each in again] == [(0, 0)] * 3
    assert check_exactly_once(tmp_path, names) == 900


def test_the_command_says_what_is_wrong(tmp_path):
    (name,) = lay_out(tmp_path, tablets=1, entries=20)
    free = socket.create_server(("127.0.0.1", 0))
    port = free.getsockname()[1]
    free.close()
    for words, status, message in (
        (("send", f"{name}.store", "--to", f"127.0.0.1:{port}"), 3, "Nobody answers at 127.0.0.1"),
        (("send", f"{name}.store", "--to", "not an address"), 2, "not an address"),
        (("send", "visit.book", "--to", "127.0.0.1"), 5, "visit book"),
        (("listen", f"{name}.store"), 5, "tablet store"),
        (("listen", "visit.book", "--address", "203.0.113.9", "--port", 0), 3, "cannot listen"),
        (("listen", "visit.book", "--port", "99999"), 3, "cannot listen"),
    ):
        process = command(*words, cwd=tmp_path)
        _, told = process.communicate(timeout=120)
        assert process.returncode == status and message in told and "Traceback" not in told, (words, told)


def test_listening_ends_at_ctrl_c_with_the_sum(tmp_path):
    names = lay_out(tmp_path, tablets=1, entries=40)
    lead, address = listening(tmp_path)
    send_all(tmp_path, names, address)
    lead.send_signal(signal.SIGINT)
    assert end_of(lead)["children"] == 1


# -- kills -----------------------------------------------------------------------------------------


def kill_and_go_on(folder, names, kills: int, seed: int) -> int:
    """Kill the lead or a sender at random moments; nothing acknowledged may be lost, and all arrives in the end.

    Between two kills every tablet writes a little more, so that there is always something under way.
    """
    chance = random.Random(seed)
    killed = 0
    lead = None
    highest = dict.fromkeys(names, 0)
    port = free_port()
    while killed < kills:
        if lead is None or lead.poll() is not None:
            lead, address = listening(folder, port=port)
        senders = {
            name: command("send", f"{name}.store", "--to", address, "--json", cwd=folder) for name in names
        }
        time.sleep(chance.uniform(0.3, 2.2))
        victim = lead if chance.random() < 0.4 else senders[chance.choice(names)]
        if victim.poll() is None:
            victim.kill()
            killed += 1
            print(f"kill {killed}: the {'lead' if victim is lead else 'tablet'}", flush=True)
        victim.wait()
        if victim is lead:
            # The others try again by themselves; give them a lead to find, or none at all.
            if chance.random() < 0.5:
                lead, address = listening(folder, port=port)
            else:
                lead = None
        for name, sender in senders.items():
            out, trouble = sender.communicate(timeout=600)
            assert "Traceback" not in trouble, trouble
            if sender.returncode == 0:
                highest[name] = max(highest[name], json.loads(out)["held"])
        for name in names:
            with closing(Station.open(folder / f"{name}.store", PASSPHRASE)) as station:
                big_visit.write_up_to(station, station.ledger.counter + chance.randrange(200))
    if lead is not None:
        lead.kill()
        lead.wait()
    # What a tablet was told is in the book is in the book, before anything else is sent.
    with closing(Desk.open(folder / "visit.book", PASSPHRASE)) as desk:
        for name in names:
            device = next(iter(big_visit.own_entries(folder, name))).partition("@")[2]
            counters = {e.counter for e in desk.ledger.register.entries() if e.device == device}
            assert set(range(1, highest[name] + 1)) <= counters
    gather(folder, names)
    return check_exactly_once(folder, names)


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as free:
        return free.getsockname()[1]


def test_killed_a_few_times_nothing_is_lost_or_doubled(tmp_path):
    names = lay_out(tmp_path, tablets=2, entries=1500)
    assert kill_and_go_on(tmp_path, names, kills=3, seed=7) >= 3000


@pytest.mark.long
def test_killed_two_hundred_times_nothing_is_lost_or_doubled(tmp_path):
    names = lay_out(tmp_path, tablets=3, entries=3000)
    assert kill_and_go_on(tmp_path, names, kills=200, seed=20261014) >= 9000


# -- what a listener on the network sees ------------------------------------------------------------


@pytest.mark.skipif(
    shutil.which("tcpdump") is None or not hotspot.possible(), reason="needs tcpdump and root"
)
def test_a_capture_of_the_whole_session_shows_no_child(tmp_path):
    names = lay_out(tmp_path, tablets=2, entries=400, children=30)
    capture = tmp_path / "session.pcap"
    port = free_port()
    dump = subprocess.Popen(
        ["tcpdump", "-i", "lo", "--immediate-mode", "-U", "-s", "0", "-w", str(capture), f"tcp port {port}"],
        stderr=subprocess.PIPE,
        text=True,
    )
    assert dump.stderr is not None
    assert any("listening" in line for line in dump.stderr)
    lead, address = listening(tmp_path, "--once", 2, port=port)
    send_all(tmp_path, names, address)
    end_of(lead)
    size, until = -1, time.monotonic() + 30
    # Until nothing more comes: tcpdump may lag behind.
    while size != (size := capture.stat().st_size) or size < 10_000:
        time.sleep(1.0)
        assert time.monotonic() < until, f"tcpdump saw only {size} bytes"
    dump.send_signal(signal.SIGINT)
    dump.wait()
    seen = capture.read_bytes()
    sent = sum(len(text) for name in names for text in big_visit.own_entries(tmp_path, name).values())
    assert len(seen) > 10_000 and sent > 100_000
    with closing(Desk.open(tmp_path / "visit.book", PASSPHRASE)) as desk:
        people = [standing.person for standing in desk.standings()]
        words = {desk.school, desk.ledger.about["visit"], desk.ledger.device, "MK", "tone-answered", "heard"}
        words |= {tablet.id for tablet in desk.tablets}
    for person in people:
        words |= {person.given, person.family, person.born, person.student_number}
    assert len(words) > 100
    for word in words - {""}:
        if len(word) > 3:
            for form in (word.encode(), word.encode("utf-16-le"), word.lower().encode()):
                assert form not in seen, "something readable went over the network"
    # The search itself works: the server's and client's first TLS words are there in clear.
    assert b"\x16\x03" in seen


# -- eight tablets, poor links ---------------------------------------------------------------------


@pytest.mark.long
def test_eight_tablets_of_twenty_thousand_entries(tmp_path):
    names = lay_out(tmp_path, tablets=8, entries=20_000)
    gather(tmp_path, names)
    assert check_exactly_once(tmp_path, names) == 160_000


@pytest.mark.long
@pytest.mark.skipif(not hotspot.possible(), reason="needs root and /dev/net/tun")
@pytest.mark.parametrize(("delay", "loss", "cuts"), [(40, 2, 0), (5, 0, 6), (120, 4, 3)])
def test_over_a_poor_radio_link_everything_arrives_exactly_once(tmp_path, delay, loss, cuts):
    """Delay in ms and loss in percent each way, 20 Mbit/s shared; ``cuts`` times the link is gone for a while."""
    names = lay_out(tmp_path, tablets=8, entries=20_000)
    with hotspot.hotspot("qbt", tablets=8, delay=delay, loss=loss, rate=20) as radio:
        lead, address = listening(
            tmp_path, "--once", 8, prefix=hotspot.inside("qbt", 0), address=hotspot.address(0)
        )
        senders = [
            command(
                *("send", f"{name}.store", "--to", address, "--json"),
                prefix=hotspot.inside("qbt", place),
                cwd=tmp_path,
            )
            for place, name in enumerate(names, 1)
        ]
        for _ in range(cuts):
            time.sleep(4)
            radio.send_signal(signal.SIGUSR1)
            time.sleep(3)
            radio.send_signal(signal.SIGUSR2)
        for sender in senders:
            _, trouble = sender.communicate(timeout=900)
            assert sender.returncode == 0, trouble
        end_of(lead)
    assert check_exactly_once(tmp_path, names) == 160_000
