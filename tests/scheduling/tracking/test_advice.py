"""The property's own advice: hours of waiting by the hit as judged, dogs, cautions; no law."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.tracking.advice import HIT_KINDS, advice_for
from scheduling.tracking.settings import TrackingSettings

HIT_AT = datetime(2025, 11, 8, 22, 52, tzinfo=UTC)


@pytest.mark.parametrize(
    ("hit_kind", "hours"),
    # Common practice, no source: these are the settings' own defaults.
    [("chest", 0.5), ("liver", 4), ("paunch", 8), ("muscle", 1), ("unknown", 4)],
)
def test_each_judged_hit_waits_its_own_hours_from_the_hit(hit_kind, hours):
    advice = advice_for(hit_kind=hit_kind, hit_at=HIT_AT, settings=TrackingSettings())
    assert advice.wait_until - HIT_AT == timedelta(hours=hours)


def test_every_kind_of_hit_has_its_hours_in_the_settings():
    settings = TrackingSettings(**{f"wait_{kind}_h": 20 + n for n, kind in enumerate(HIT_KINDS)})
    waits = [
        advice_for(hit_kind=kind, hit_at=HIT_AT, settings=settings).wait_h for kind in HIT_KINDS
    ]
    assert waits == [20, 21, 22, 23, 24]


def test_it_says_that_it_is_no_law_and_what_the_property_says_of_dogs():
    plain = advice_for(hit_kind="liver", hit_at=HIT_AT, settings=TrackingSettings())
    assert "no rule of law" in plain.notice
    assert "ask a manager" in plain.dog_rules
    told = TrackingSettings(dog_rules="On a leash; not in the sanctuary.")
    assert (
        advice_for(hit_kind="liver", hit_at=HIT_AT, settings=told).dog_rules
        == "On a leash; not in the sanctuary."
    )
