"""No delivery reaches an address that is not public, however a name or number is dressed."""

import ipaddress
import socket

import pytest

from coop.outbox.webhooks.addresses import (
    AddressRefused,
    HostUnknown,
    checked_addresses,
    is_public,
)

PUBLIC = ["8.8.8.8", "1.1.1.1", "93.184.216.34", "2606:2800:220:1::1", "2a00:1450:4001::200e"]

HOSTILE = [
    # this machine and this network
    *("0.0.0.0", "0.0.0.1", "127.0.0.1", "127.0.0.53", "127.255.255.254", "255.255.255.255"),
    # private, shared, link-local, metadata
    *("10.0.0.1", "10.255.255.255", "172.16.0.1", "172.31.255.254", "192.168.0.1"),
    *("192.168.255.255", "100.64.0.1", "100.100.100.200", "100.127.255.254"),
    *("169.254.0.1", "169.254.169.254", "169.254.170.2", "168.63.129.16"),
    # protocol assignments, documentation, benchmarks, relays, multicast, reserved
    *("192.0.0.1", "192.0.0.8", "192.0.0.170", "192.0.2.1", "198.51.100.7", "203.0.113.9"),
    *("198.18.0.1", "198.19.255.254", "192.88.99.1", "192.31.196.1", "192.52.193.1"),
    *("192.175.48.1", "224.0.0.1", "239.255.255.250", "240.0.0.1", "250.1.2.3"),
    # IPv6: loopback, unspecified, local, multicast, site-local, discard, documentation
    *("::", "::1", "fe80::1", "fe80::1%eth0", "febf::1", "fc00::1", "fd00:ec2::254", "ff02::1"),
    *("fec0::1", "100::1", "2001:db8::1", "3fff::1", "5f00::1", "4000::1"),
    # IPv4 in disguise: mapped, compatible, translated, 6to4, Teredo
    *("::ffff:127.0.0.1", "::ffff:10.0.0.1", "::ffff:169.254.169.254", "::ffff:8.8.8.8"),
    *("::127.0.0.1", "::ffff:0:127.0.0.1", "64:ff9b::7f00:1", "64:ff9b::a9fe:a9fe"),
    *("64:ff9b:1::7f00:1", "2002:7f00:1::1", "2002:a9fe:a9fe::1", "2001:0:7f00:1::1"),
    *("2001:2::1", "2001:10::1", "2001:20::1", "2620:4f:8000::1"),
]


@pytest.mark.parametrize("address", PUBLIC)
def test_a_public_address_is_reached(address):
    assert is_public(ipaddress.ip_address(address))


@pytest.mark.parametrize("address", HOSTILE)
def test_any_other_address_is_refused(address):
    assert not is_public(ipaddress.ip_address(address))


def test_many_kinds_of_address_were_tried():
    assert len(set(HOSTILE)) >= 60


def answering(*answers: str):
    """A name server's answers, as the system's resolver hands them on."""

    def resolve(_host, port, **_options):
        return [(None, None, None, "", (answer, port)) for answer in answers]

    return resolve


def test_only_public_answers_are_connected_to_in_the_resolver_s_order():
    found = checked_addresses("x", 443, resolve=answering("8.8.8.8", "1.1.1.1"))
    assert found == ["8.8.8.8", "1.1.1.1"]


@pytest.mark.parametrize(
    "answers",
    [
        ("8.8.8.8", "127.0.0.1"),
        ("8.8.8.8", "1.1.1.1", "169.254.169.254"),
        ("2606:2800:220:1::1", "::ffff:10.0.0.1"),
        ("fd00:ec2::254", "8.8.8.8"),
    ],
)
def test_one_answer_that_is_not_public_refuses_the_host(answers):
    with pytest.raises(AddressRefused):
        checked_addresses("mixed.example", 443, resolve=answering(*answers))


# Forms that the system's resolver reads as numbers, without asking anybody.
NUMBERS = [
    *("127.0.0.1", "127.1", "127.0.1", "2130706433", "0x7f000001", "0x7f.0.0.1", "0177.0.0.1"),
    *("017700000001", "0", "0x0", "2852039166", "0xa9fea9fe", "0251.0376.0251.0376"),
    *("169.254.43518", "169.16689662", "::1", "::ffff:127.0.0.1", "::ffff:7f00:1", "localhost"),
]


@pytest.mark.parametrize("host", NUMBERS)
def test_numbers_in_any_form_are_judged_by_where_they_lead(host):
    with pytest.raises((AddressRefused, HostUnknown)):
        checked_addresses(host, 443)


def test_at_least_the_decimal_form_is_read_by_the_resolver_and_refused():
    """Else the test above might pass because nothing was ever read."""
    with pytest.raises(AddressRefused):
        checked_addresses("2130706433", 443)


def test_a_host_that_nobody_knows_is_told_apart_from_one_that_is_refused():
    def unknown(*_args, **_options):
        raise socket.gaierror(-2, "Name or service not known")

    with pytest.raises(HostUnknown):
        checked_addresses("nowhere.invalid", 443, resolve=unknown)
    with pytest.raises(HostUnknown):
        checked_addresses("nowhere.invalid", 443, resolve=answering())
    with pytest.raises(HostUnknown):
        checked_addresses("x" * 300, 443)
