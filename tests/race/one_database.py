"""The races on one database, which the environment names; prints what happened as JSON.

A process of its own, so that the product's settings are those of a deployment.
"""

import argparse
import json
import os
import sys
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.settings")
FULL = {"stand_full", "seat_taken"}
SAME_KEY = 50
LOG_SHOWN = 4000


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--requests", type=int, required=True)
    reader.add_argument("--seats", type=int, required=True)
    reader.add_argument("--rounds", type=int, required=True)
    reader.add_argument("--control-rounds", type=int, required=True)
    asked = reader.parse_args()
    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from tests.race import ground, server

    raced = ground.prepare(members=asked.requests, seats=asked.seats)
    logs = Path(os.environ["COOP_VAR_DIR"])
    with server.serving("coop.wsgi", logs / "guarded.log") as address:
        found = _rounds(address, raced, asked.rounds, asked.seats)
        found["same_key"] = _same_key(address, raced)
        found["neighbouring_days"] = _neighbouring_days(address, raced)
    with server.serving("tests.race.unguarded", logs / "control.log") as address:
        control = _rounds(address, raced, asked.control_rounds, asked.seats)
    found["control_oversold"] = control["oversold"]
    if found["errors"]:
        sys.stderr.write(logs.joinpath("guarded.log").read_text()[-LOG_SHOWN:])
    print(json.dumps(found))


def _rounds(address: str, raced: Any, rounds: int, seats: int) -> dict[str, Any]:
    """Rounds of everybody for every seat: exactly sold, oversold, refusals, errors."""
    from scheduling.sits.models import SeatClaim, Sit
    from tests.race import crowd, ground

    day = raced.today + timedelta(days=1)
    # As many ask for a stand as its share of the seats, a member each.
    chairs = [stand for stand in raced.stands for _seat in range(stand.capacity)]
    found: dict[str, Any] = dict.fromkeys(
        ("sold_exactly", "oversold", "refused", "errors", "uncoded"), 0
    )
    for _round in range(rounds):
        ground.clear()
        answers = crowd.all_at_once(
            address,
            [
                crowd.Booking(token=token, body=_body(chairs[number % len(chairs)], day))
                for number, token in enumerate(raced.tokens)
            ],
        )
        created = sum(answer.status == 201 for answer in answers)
        refused = sum(answer.status == 409 for answer in answers)
        sits = Sit.objects.count()
        found["sold_exactly"] += created == sits == SeatClaim.objects.count() == seats
        found["oversold"] += sits > seats
        found["refused"] += refused
        found["errors"] += len(answers) - created - refused
        found["uncoded"] += sum(
            answer.status == 409 and FULL.isdisjoint(answer.codes) for answer in answers
        )
    return found


def _same_key(address: str, raced: Any) -> dict[str, Any]:
    """One booking sent many times at once with one key."""
    from scheduling.sits.models import Sit
    from tests.race import crowd, ground

    ground.clear()
    day = raced.today + timedelta(days=1)
    booking = crowd.Booking(token=raced.tokens[0], body=_body(raced.single, day), key="race")
    answers = crowd.all_at_once(address, [booking] * SAME_KEY)
    return {
        "sits": Sit.objects.count(),
        "different_answers": len({(answer.status, answer.content) for answer in answers}),
        "status": answers[0].status,
    }


def _neighbouring_days(address: str, raced: Any) -> dict[str, Any]:
    """Every day of two weeks asked for at once at a stand that rests after a use."""
    from scheduling.sits.models import Sit
    from tests.race import crowd, ground

    ground.clear()
    answers = crowd.all_at_once(
        address,
        [
            crowd.Booking(
                token=token, body=_body(raced.single, raced.today + timedelta(days=1 + number))
            )
            for number, token in enumerate(raced.tokens[: ground.DAYS - 1])
        ],
    )
    days = list(Sit.objects.order_by("local_date").values_list("local_date", flat=True))
    return {
        "sits": len(days),
        "created": sum(answer.status == 201 for answer in answers),
        "errors": sum(answer.status not in (201, 409) for answer in answers),
        "least_gap_days": min(((b - a).days for a, b in pairwise(days)), default=None),
        "most_in_ten_days": max(
            sum(first <= day < first + timedelta(days=10) for day in days) for first in days
        ),
    }


def _body(stand: Any, day: Any) -> dict[str, Any]:
    return {
        "stand": str(stand.id),
        "local_date": day.isoformat(),
        "span": "evening",
        "weapon": "bow",
    }


if __name__ == "__main__":
    main()
