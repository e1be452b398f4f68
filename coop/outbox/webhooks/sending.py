"""One attempt: post signed bytes to a checked address, and read the status alone."""

import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from functools import lru_cache
from ssl import SSLContext
from typing import Any

import httpcore
import httpx
from django.conf import settings

from coop.outbox.webhooks import addresses
from coop.outbox.webhooks.models import Outcome
from coop.outbox.webhooks.practice import PRACTICE

# A host without a way to IPv6 still reaches a receiver that has both.
_ADDRESSES_TRIED = 3


@dataclass(frozen=True, kw_only=True)
class Attempted:
    """The outcome, the receiver's status if it answered, and the pause it asked for."""

    outcome: Outcome
    status: int | None = None
    retry_after_s: float | None = None


def choose_addresses(host: str, port: int) -> list[str]:
    """The addresses that an attempt may connect to, in turn until one answers.

    Raises :class:`addresses.AddressRefused` and :class:`addresses.HostUnknown`.
    """
    if settings.WEBHOOKS_ALLOW_PRIVATE:
        return addresses.addresses_of(host, port)[:_ADDRESSES_TRIED]
    return addresses.checked_addresses(host, port)[:_ADDRESSES_TRIED]


def post(
    url: str,
    *,
    body: bytes,
    headers: Mapping[str, str],
    monotonic: Callable[[], float] = time.monotonic,
) -> Attempted:
    """Post once. No redirect is followed, no proxy is used, no body of the answer is read."""
    backend = _PinnedBackend(deadline=monotonic() + PRACTICE.answer_within_s, monotonic=monotonic)
    every_step = dict.fromkeys(("connect", "read", "write", "pool"), PRACTICE.step_within_s)
    sent = [
        ("Content-Type", "application/json"),
        ("User-Agent", "deer-cooperative-webhooks/1"),
        ("Connection", "close"),
        *headers.items(),
    ]
    with httpcore.ConnectionPool(ssl_context=_tls(), network_backend=backend) as pool:
        try:
            with pool.stream(
                "POST", url, headers=sent, content=body, extensions={"timeout": every_step}
            ) as answer:
                return _judged(answer.status, answer.headers)
        except addresses.AddressRefused:
            return Attempted(outcome=Outcome.ADDRESS_REFUSED)
        except httpcore.TimeoutException:
            return Attempted(outcome=Outcome.TIMED_OUT)
        except (
            addresses.HostUnknown,
            httpcore.NetworkError,
            httpcore.ProtocolError,
            httpcore.UnsupportedProtocol,
        ):
            return Attempted(outcome=Outcome.NOT_CONNECTED)


@lru_cache(maxsize=1)
def _tls() -> SSLContext:
    return httpx.create_ssl_context()


def _judged(status: int, headers: list[tuple[bytes, bytes]]) -> Attempted:
    if 200 <= status < 300:
        return Attempted(outcome=Outcome.DELIVERED, status=status)
    asked = next((value for name, value in headers if name.lower() == b"retry-after"), b"")
    return Attempted(
        outcome=Outcome.REFUSED,
        status=status,
        retry_after_s=_seconds(asked.decode("latin-1"), datetime.now(UTC)),
    )


def _seconds(text: str, now: datetime) -> float | None:
    """``Retry-After`` as seconds from now, given as a number or as a date (RFC 9110)."""
    text = text.strip()
    if text.isascii() and text.isdigit():
        return float(text[:9])
    try:
        return max(0.0, (parsedate_to_datetime(text) - now).total_seconds())
    except (TypeError, ValueError):
        return None


class _PinnedBackend(httpcore.NetworkBackend):
    """Connects to the checked address only; the name stays in Host and in TLS.

    The name is resolved here and nowhere else, so no second answer can differ from the one
    that was checked. Everything happens before ``deadline``, however slowly bytes drip in.
    """

    def __init__(self, *, deadline: float, monotonic: Callable[[], float]) -> None:
        self._deadline = deadline
        self._monotonic = monotonic
        self._inner = httpcore.SyncBackend()

    def connect_tcp(
        self,
        host: str,
        port: int,
        timeout: float | None = None,
        local_address: str | None = None,
        socket_options: Iterable[Any] | None = None,
    ) -> httpcore.NetworkStream:
        refused: httpcore.ConnectError | None = None
        for address in choose_addresses(host, port):
            limit = self.left(timeout, httpcore.ConnectTimeout)
            try:
                stream = self._inner.connect_tcp(address, port, limit, None, socket_options)
            except httpcore.ConnectError as error:
                refused = error
                continue
            return _TimedStream(stream, self)
        raise refused or httpcore.ConnectError("no address to connect to")

    def connect_unix_socket(self, *_args: Any, **_options: Any) -> httpcore.NetworkStream:
        raise addresses.AddressRefused("a socket of this machine")

    def left(self, timeout: float | None, late: type[httpcore.TimeoutException]) -> float:
        """Seconds that the next step may take; raises ``late`` when none are left."""
        remaining = self._deadline - self._monotonic()
        if remaining <= 0:
            raise late("the whole attempt takes too long")
        return remaining if timeout is None else min(timeout, remaining)


class _TimedStream(httpcore.NetworkStream):
    """A stream each of whose steps ends by the deadline of the attempt."""

    def __init__(self, inner: httpcore.NetworkStream, clock: _PinnedBackend) -> None:
        self._inner = inner
        self._clock = clock

    def read(self, max_bytes: int, timeout: float | None = None) -> bytes:
        return self._inner.read(max_bytes, self._clock.left(timeout, httpcore.ReadTimeout))

    def write(self, buffer: bytes, timeout: float | None = None) -> None:
        self._inner.write(buffer, self._clock.left(timeout, httpcore.WriteTimeout))

    def close(self) -> None:
        self._inner.close()

    def start_tls(
        self,
        ssl_context: SSLContext,
        server_hostname: str | None = None,
        timeout: float | None = None,
    ) -> httpcore.NetworkStream:
        limit = self._clock.left(timeout, httpcore.ConnectTimeout)
        return _TimedStream(self._inner.start_tls(ssl_context, server_hostname, limit), self._clock)

    def get_extra_info(self, info: str) -> Any:
        return self._inner.get_extra_info(info)
