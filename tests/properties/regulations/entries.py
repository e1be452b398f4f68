"""Dated values of the north, as most tests need one. No figure here is any state's."""

from datetime import date, datetime
from typing import Any

from properties.regulations.models import Regulation
from properties.regulations.services import enter_regulation
from tests.cast import NOW, Cast

PAGE = "https://state.example/regulations"


def entered(
    cast: Cast, kind: str, value: dict[str, Any], *, now: datetime = NOW, **changes: Any
) -> Regulation:
    fields = {"first_on": date(2025, 9, 1), "source_url": PAGE, **changes}
    return enter_regulation(
        actor=cast.actor(cast.manager),
        land=cast.north,
        fields={"kind": kind, "value": value, **fields},
        now=now,
    )
