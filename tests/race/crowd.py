"""Many requests at once, and what came back."""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import httpx

GIVE_UP_S = 180


@dataclass(frozen=True, kw_only=True)
class Booking:
    token: str
    body: dict[str, Any]
    key: str = ""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """``status`` is 0 where no answer came; ``codes`` say why a booking was refused."""

    status: int
    content: bytes = b""
    codes: tuple[str, ...] = ()


def all_at_once(address: str, bookings: Sequence[Booking]) -> list[Answer]:
    """Send every booking at the same moment, each on a connection of its own."""
    return asyncio.run(_all_at_once(address, bookings))


async def _all_at_once(address: str, bookings: Sequence[Booking]) -> list[Answer]:
    limits = httpx.Limits(max_connections=None, max_keepalive_connections=0)
    async with httpx.AsyncClient(
        base_url=address, timeout=GIVE_UP_S, limits=limits, trust_env=False
    ) as client:
        return await asyncio.gather(*(_send(client, booking) for booking in bookings))


async def _send(client: httpx.AsyncClient, booking: Booking) -> Answer:
    headers = {"Authorization": f"Token {booking.token}"}
    if booking.key:
        headers["Idempotency-Key"] = booking.key
    try:
        answer = await client.post("/api/v1/sits/", json=booking.body, headers=headers)
    except httpx.HTTPError as error:
        return Answer(status=0, content=repr(error).encode())
    return Answer(status=answer.status_code, content=answer.content, codes=_codes(answer))


def _codes(answer: httpx.Response) -> tuple[str, ...]:
    if answer.status_code != 409:
        return ()
    problem = answer.json()
    listed = tuple(refusal["code"] for refusal in problem.get("refusals", ()))
    return listed or (problem["code"],)
