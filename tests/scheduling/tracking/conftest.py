"""Mia has hit a deer from Oak; Ben sits at Creek the same evening."""

from datetime import timedelta

import pytest
import time_machine

from scheduling.sits.life_services import check_in
from scheduling.sits.models import Sit
from tests.cast import Cast
from tests.scheduling.sits.stage import booked, make_stage


class Evening:
    """The stage with both sits; ``at`` is a quarter of an hour after the shot."""

    def __init__(self, cast: Cast) -> None:
        self.cast = cast
        self.stage = make_stage(cast)
        self.mia, self.ben = cast.member, self.stage.ben
        sit = booked(self.stage)
        check_in(actor=cast.actor(self.mia), sit=sit, now=sit.starts_at)
        self.sit = Sit.objects.get(id=sit.id)
        self.near = booked(self.stage, self.ben, self.stage.creek)
        self.hit_at = self.sit.starts_at + timedelta(minutes=30)
        self.at = self.hit_at + timedelta(minutes=15)

    def call(self, person, method, path, body=None, at=None, **headers):
        with time_machine.travel(at or self.at, tick=False):
            send = getattr(self.cast.client(person), method)
            return send(f"/api/v1/{path}", body, format="json", **headers)

    def opening(self, **changes):
        creek = self.stage.creek
        return {
            "sit": str(self.sit.id),
            "hit_at": self.hit_at.isoformat(),
            # 300 m and a little south of Creek.
            "longitude": creek.longitude,
            "latitude": creek.latitude - 0.0028,
            "hit_kind": "liver",
            "harvest_class": "antlerless",
            "remarks": "Crossed the creek, walking.",
            **changes,
        }

    def open(self, person=None, **changes):
        return self.call(person or self.mia, "post", "trackings/", self.opening(**changes))

    def opened(self):
        answer = self.open()
        assert answer.status_code == 201, answer.content
        return answer.json()["id"]

    def join(self, tracking, by=None, hours=2.0, at=None, **fields):
        at = at or self.at
        body = {
            "tracking": tracking,
            "area": "Creek, from the ford down",
            "back_by": (at + timedelta(hours=hours)).isoformat(),
            **fields,
        }
        return self.call(by or self.ben, "post", "trackers/", body, at=at)

    def end(self, tracking, outcome, person=None, **fields):
        body = {"outcome": outcome, **fields}
        return self.call(person or self.mia, "post", f"trackings/{tracking}/end/", body)


@pytest.fixture
def evening(cast: Cast) -> Evening:
    return Evening(cast)
