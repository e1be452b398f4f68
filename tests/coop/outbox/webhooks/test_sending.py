"""One attempt over a real connection: the checked address, and nothing else, is spoken to."""

import datetime as dt
import itertools
import socket
import ssl
import threading

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from coop.outbox.webhooks import addresses, sending
from coop.outbox.webhooks.models import Outcome
from coop.outbox.webhooks.practice import PRACTICE
from tests.coop.outbox.webhooks.receiver import receiving

NAME = "hooks.example.org"


@pytest.fixture
def resolver(monkeypatch):
    """Answers of an invented name server, one list for each time that it is asked."""
    asked = []

    def set_to(*rounds: list[str]) -> list[str]:
        turns = itertools.chain(rounds, itertools.repeat(rounds[-1]))

        def resolve(host, port, *_args, **_options):
            asked.append(host)
            return [(2, 1, 6, "", (address, port)) for address in next(turns)]

        monkeypatch.setattr(addresses.checked_addresses, "__kwdefaults__", {"resolve": resolve})
        monkeypatch.setattr(addresses.addresses_of, "__kwdefaults__", {"resolve": resolve})
        return asked

    return set_to


@pytest.fixture
def loopback_passes(monkeypatch):
    """Only the judgement of this machine's own address is lifted; resolving and pinning stay."""
    judge = addresses.is_public
    monkeypatch.setattr(addresses, "is_public", lambda one: str(one) == "127.0.0.1" or judge(one))


def post(url: str, **told):
    return sending.post(url, body=b"{}", headers={"webhook-id": "msg_1"}, **told)


def test_this_machine_is_refused_without_a_connection():
    with receiving() as receiver:
        for host in ("127.0.0.1", "localhost", "2130706433", "[::1]", "[::ffff:127.0.0.1]"):
            attempted = post(f"http://{host}:{receiver.port}/hook")
            assert attempted.outcome is Outcome.ADDRESS_REFUSED, host
    assert receiver.posted == []


def test_a_name_whose_answer_changes_after_the_check_is_asked_for_once(resolver, loopback_passes):
    asked = resolver(["127.0.0.1"], ["169.254.169.254"])
    with receiving() as receiver:
        attempted = post(f"http://{NAME}:{receiver.port}/hook?a=1")

    assert attempted.outcome is Outcome.DELIVERED
    assert asked == [NAME]
    (posted,) = receiver.posted
    assert posted.headers["host"] == f"{NAME}:{receiver.port}"
    assert (posted.path, posted.body) == ("/hook?a=1", b"{}")


def test_a_public_answer_beside_a_private_one_is_not_connected_to(resolver, loopback_passes):
    resolver(["127.0.0.1", "10.0.0.1"])
    with receiving() as receiver:
        assert post(f"http://{NAME}:{receiver.port}/").outcome is Outcome.ADDRESS_REFUSED
    assert receiver.posted == []


def test_the_next_checked_address_is_tried_where_one_does_not_answer(resolver, monkeypatch):
    # 127.0.0.2 is this machine too, and nobody listens there.
    resolver(["127.0.0.2", "127.0.0.1"])
    monkeypatch.setattr(addresses, "is_public", lambda one: str(one).startswith("127.0.0."))
    with receiving() as receiver:
        assert post(f"http://{NAME}:{receiver.port}/").outcome is Outcome.DELIVERED


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_a_redirect_is_a_failure_and_is_not_followed(settings, status):
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    with receiving() as elsewhere, receiving(answers=[(status, {"Location": elsewhere.url})]) as it:
        attempted = post(it.url)

    assert (attempted.outcome, attempted.status) == (Outcome.REFUSED, status)
    assert elsewhere.posted == []


def test_a_proxy_of_the_environment_is_not_used(settings, monkeypatch):
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    with receiving() as proxy, receiving() as receiver:
        for name in ("HTTP_PROXY", "http_proxy", "ALL_PROXY"):
            monkeypatch.setenv(name, f"http://127.0.0.1:{proxy.port}")
        assert post(receiver.url).outcome is Outcome.DELIVERED
    assert (len(receiver.posted), proxy.posted) == (1, [])


def test_the_answer_s_body_is_not_waited_for(settings):
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    with receiving(large=50_000_000) as receiver:
        assert post(receiver.url).outcome is Outcome.DELIVERED


def test_a_receiver_that_says_nothing_is_given_up(settings, monkeypatch):
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    monkeypatch.setattr(sending, "PRACTICE", type(PRACTICE)(step_within_s=0.2))
    with receiving(hangs=threading.Event()) as receiver:
        assert post(receiver.url) == sending.Attempted(outcome=Outcome.TIMED_OUT)


def test_a_receiver_that_drips_is_given_up_when_the_whole_takes_too_long(settings):
    """Each step is short; the sum is what ends it. The clock goes on by itself."""
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    ticks = itertools.count(step=PRACTICE.answer_within_s / 4)
    dripping = socket.create_server(("127.0.0.1", 0))

    def drip() -> None:
        connection, _from = dripping.accept()
        with connection:
            try:
                connection.sendall(b"HTTP/1.1 200 OK\r\n")
                for number in range(10_000):
                    connection.sendall(f"x-{number}: y\r\n".encode())
            except OSError:
                return

    thread = threading.Thread(target=drip)
    thread.start()
    url = f"http://127.0.0.1:{dripping.getsockname()[1]}/"
    assert post(url, monotonic=lambda: float(next(ticks))).outcome is Outcome.TIMED_OUT
    thread.join()
    dripping.close()


def test_headers_without_end_are_given_up(settings):
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    endless = b"HTTP/1.1 200 OK\r\n" + b"x: " + b"y" * 5_000_000
    with receiving(drips=endless) as receiver:
        assert post(receiver.url).outcome is Outcome.NOT_CONNECTED


def test_what_is_no_http_is_a_failure(settings):
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    with receiving(drips=b"SSH-2.0-thing\r\n") as receiver:
        assert post(receiver.url).outcome is Outcome.NOT_CONNECTED


def test_a_port_where_nobody_listens_is_a_failure(settings):
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port = listener.getsockname()[1]
    assert post(f"http://127.0.0.1:{port}/").outcome is Outcome.NOT_CONNECTED


@pytest.mark.parametrize(
    ("text", "seconds"), [("120", 120.0), ("Sat, 01 Nov 2025 17:01:00 GMT", 60.0), ("soon", None)]
)
def test_a_pause_is_read_as_seconds_or_as_a_date(text, seconds):
    now = dt.datetime(2025, 11, 1, 17, tzinfo=dt.UTC)
    assert sending._seconds(text, now) == seconds


@pytest.fixture
def certified(tmp_path, monkeypatch):
    """A server's TLS context for ``NAME``, and its issuer trusted by the sender."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Test issuer")])
    now = dt.datetime.now(dt.UTC)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now - dt.timedelta(days=1))
        .not_valid_after(now + dt.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(NAME)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    pem = certificate.public_bytes(serialization.Encoding.PEM)
    path = tmp_path / "both.pem"
    path.write_bytes(
        pem
        + key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    trusting = ssl.create_default_context(cadata=pem.decode())
    monkeypatch.setattr(sending, "_tls", lambda: trusting)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(path)
    return context


def test_over_tls_the_name_is_asked_for_and_checked_while_the_address_is_pinned(
    certified, resolver, loopback_passes
):
    resolver(["127.0.0.1"])
    with receiving(tls=certified) as receiver:
        right = post(f"https://{NAME}:{receiver.port}/hook")
        wrong = post(f"https://other.example.org:{receiver.port}/hook")

    assert right.outcome is Outcome.DELIVERED
    assert wrong.outcome is Outcome.NOT_CONNECTED
    assert receiver.server_names == [NAME, "other.example.org"]
    assert len(receiver.posted) == 1
