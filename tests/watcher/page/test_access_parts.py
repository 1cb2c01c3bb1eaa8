"""The parts of access on a told clock: invitations, brakes, the book of guests, addresses and codes."""

from __future__ import annotations

import ipaddress
import threading
from datetime import UTC, datetime, timedelta

import cv2
import numpy as np
import pytest

from watcher.clock import ToldClock
from watcher.page.access.brakes import ALL_TRIES, MOST_ADDRESSES, Brakes
from watcher.page.access.guestbook import GuestBook, plain_name
from watcher.page.access.invitations import Invitations
from watcher.page.access.keys import hash_of, new_key
from watcher.page.access.links import qr_svg
from watcher.records.guests import Guest, Rights
from watcher.service.reachable import lan_addresses, own_names

AT = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)


def test_a_code_lets_in_one_of_many_who_use_it_at_the_same_moment() -> None:
    invitations = Invitations(lambda: 0.0)
    code = invitations.make(Rights.ACT)
    taken: list[object] = []
    start = threading.Barrier(16)

    def take() -> None:
        start.wait()
        taken.append(invitations.take(code))

    threads = [threading.Thread(target=take) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len([one for one in taken if one is not None]) == 1


def test_codes_and_keys_differ_and_their_hash_is_the_published_one() -> None:
    # FIPS 180-2, appendix B.1: SHA-256 of "abc" (value also in RFC 6234's test program)
    assert hash_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert len({new_key() for _ in range(100)}) == 100
    assert {len(new_key()) for _ in range(100)} == {43}


def test_one_address_waits_two_seconds_then_twice_as_long_up_to_five_minutes() -> None:
    now_s = [0.0]
    brakes = Brakes(lambda: now_s[0])
    waits = []
    for _ in range(14):
        wait_s = brakes.begin("192.0.2.7")
        waits.append(wait_s)
        now_s[0] += wait_s
        if wait_s:
            assert brakes.begin("192.0.2.7") == 0.0
    assert waits == [0, 0, 0, 2, 4, 8, 16, 32, 64, 128, 256, 300, 300, 300]
    now_s[0] += 901.0
    assert [brakes.begin("192.0.2.7") for _ in range(4)] == [0, 0, 0, 2]


def test_a_right_code_lets_go_of_the_brake_and_others_do_not_feel_it() -> None:
    brakes = Brakes(lambda: 0.0)
    for _ in range(3):
        brakes.begin("192.0.2.7")
    assert brakes.begin("192.0.2.7") > 0.0
    assert brakes.begin("192.0.2.8") == 0.0
    brakes.right("192.0.2.8")
    assert [brakes.begin("192.0.2.8") for _ in range(4)] == [0, 0, 0, 2]


def test_a_thousand_addresses_together_try_no_more_than_thirty_times_a_minute() -> None:
    now_s = [0.0]
    brakes = Brakes(lambda: now_s[0])
    let = 0
    for second in range(600):
        now_s[0] = float(second)
        for i in range(20):
            let += brakes.begin(f"10.{i}.{second // 250}.{second % 250}") == 0.0
    assert let == 10 * ALL_TRIES  # 600 s are ten times 60 s


def test_one_ipv6_network_is_one_address_and_what_is_no_address_too() -> None:
    brakes = Brakes(lambda: 0.0)
    for i in range(3):
        assert brakes.begin(f"2001:db8::{i}") == 0.0
    assert brakes.begin("2001:db8::ffff:1") > 0.0
    assert brakes.begin("2001:db8:0:1::1") == 0.0
    for name in ("", "unknown", "\x00"):
        assert brakes.begin(name) == 0.0
    assert brakes.begin("somebody") > 0.0


def test_the_brakes_remember_no_more_than_they_have_room_for() -> None:
    now_s = [0.0]
    brakes = Brakes(lambda: now_s[0])
    for i in range(5 * MOST_ADDRESSES):
        now_s[0] += 2.1  # below the common limit
        brakes.begin(str(ipaddress.ip_address(0x0A000000 + i)))
    assert len(brakes._by_address) == MOST_ADDRESSES


class Failing:
    """A store whose disk is full from some moment on."""

    def __init__(self) -> None:
        self.kept: dict[str, Guest] = {}
        self.full = False

    def guests(self) -> tuple[Guest, ...]:
        return tuple(self.kept.values())

    def add(self, guest: Guest) -> None:
        self._try()
        self.kept[guest.guest_id] = guest

    def seen(self, guest: Guest) -> None:
        self._try()
        self.kept[guest.guest_id] = guest

    def remove(self, guest_id: str) -> None:
        self._try()
        self.kept.pop(guest_id, None)

    def _try(self) -> None:
        if self.full:
            raise OSError("the disk is full")


def test_who_is_taken_out_on_a_full_disk_is_out_and_that_it_was_not_kept_is_said() -> None:
    store = Failing()
    book = GuestBook(ToldClock(0.0, AT), store)
    guest, key = book.join(Rights.ACT, "phone")
    store.full = True
    with pytest.raises(OSError, match="full"):
        book.take_out(guest.guest_id)
    assert book.known(key) is None
    store.full = False
    book.take_out(guest.guest_id)  # once more, as the page asks for
    assert GuestBook(ToldClock(0.0, AT), store).known(key) is None


def test_when_a_phone_was_here_is_written_down_twice_a_day_at_most() -> None:
    clock, store = ToldClock(0.0, AT), Failing()
    book = GuestBook(clock, store)
    guest, key = book.join(Rights.LOOK, "phone")
    for hours in (1, 11):
        clock.tell(0.0, AT + timedelta(hours=hours))
        book.known(key)
        assert not book.must_note()
    clock.tell(0.0, AT + timedelta(hours=13))
    book.known(key)
    assert book.must_note()
    book.note()
    assert not book.must_note()
    assert store.kept[guest.guest_id].seen_at == AT + timedelta(hours=13)


def test_a_name_is_what_can_be_seen_of_it() -> None:
    assert plain_name("  Mia\u2019s \u202e\u0000phone\n\t2 ") == "Mia\u2019s phone2"
    assert plain_name("\u200b\ufeff") == ""
    assert plain_name("Käthe 木") == "Käthe 木"


def test_the_machine_names_addresses_that_others_could_reach() -> None:
    for address in lan_addresses():
        parsed = ipaddress.IPv4Address(address)
        assert not parsed.is_loopback and not parsed.is_unspecified
    assert all(name == name.lower() and name != "localhost" for name in own_names())


def test_the_longest_address_still_fits_a_code_that_a_camera_reads() -> None:
    address = f"https://{'potters-' * 7}bench.local:65535/studio/bench/join#{'A' * 22}"
    svg = qr_svg(address)
    size = int(svg.split('viewBox="0 0 ')[1].split(" ")[0])
    assert size <= 65  # modules with the quiet zone: 5 px each on a page 330 px wide
    assert _read(svg, size) == address


def _read(svg: str, size: int) -> str:
    """Draw the strokes of the SVG (relative lines, as its path says) and read the picture."""
    picture = np.full((size, size), 255, np.uint8)
    path = svg.split('stroke="#000" d="')[1].split('"')[0]
    x = y = 0.0
    import re

    for letter, numbers in re.findall(r"([Mmh])([^Mmh]*)", path):
        given = [float(one) for one in re.findall(r"-?\d*\.?\d+", numbers)]
        if letter == "M":
            x, y = given
        elif letter == "m":
            x, y = x + given[0], y + given[1]
        else:
            picture[int(y), int(x) : int(x + given[0])] = 0
            x += given[0]
    large = cv2.resize(picture, None, fx=6, fy=6, interpolation=cv2.INTER_NEAREST)
    return str(cv2.QRCodeDetector().detectAndDecode(large)[0])
