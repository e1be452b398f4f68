"""Fairness seen: who asked and got, who sees whom, and the worst served named."""

from datetime import date, timedelta

import pytest

from scheduling.sits.fairness import Prime, Share, from_worst_served, prime_class
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.models import Sit, SitRequest
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, make_guest

pytestmark = pytest.mark.usefixtures("at_now")


@pytest.fixture
def shared(stage):
    """Mia asked for three and has two, both in the rut; Ben asked for one and has none."""
    north = stage.cast.north
    for person, wanted in ((stage.cast.member, 3), (stage.ben, 1)):
        SitRequest.objects.create(
            property=north, person=person, first_on=DAY, last_on=DAY, wanted_sits=wanted
        )
    booked(stage, guests=[make_guest(stage.cast.member)])
    second = booked(stage, stand=stage.creek, day=DAY + timedelta(days=1))
    Sit.objects.filter(id=second.id).update(fit=0.5)
    gone = booked(stage, stage.ben, stand=stage.creek, day=DAY + timedelta(days=5))
    cancel_sit(actor=stage.cast.actor(stage.ben), sit=gone, reason="", now=NOW)
    return stage


def ask(stage, person, **more):
    return stage.cast.client(person).get(
        "/api/v1/fairness/", {"property": str(stage.cast.north.id), **more}
    )


def test_a_manager_sees_everybody_and_the_worst_served_first(shared):
    answer = ask(shared, shared.cast.manager)

    assert answer.status_code == 200, answer.data
    found = answer.data
    rows = {row["name"]: row for row in found["members"]}
    assert [row["name"] for row in found["members"]][:2] == ["Ben Second", "Mia Member"]
    mia, ben = rows["Mia Member"], rows["Ben Second"]
    assert (mia["asked"], mia["got"], mia["prime_sits"]) == (3, 2, 2)
    assert mia["prime_by_class"] == {"opener": 0, "rut": 2, "weekend": 0}
    assert mia["average_fit"] == pytest.approx(0.7)
    assert (ben["asked"], ben["got"], ben["average_fit"]) == (1, 0, None)
    assert (ben["place_from_worst_served"], mia["place_from_worst_served"]) == (1, 2)
    assert rows["Max Manager"]["place_from_worst_served"] is None
    assert str(found["worst_served"]) == str(shared.ben.id)
    # Two members, one of whom has all: (2·2 − 2 − 1)·2 / (2·2) by MathWorld's formula.
    assert found["gini_of_sits"] == pytest.approx(0.5)
    assert found["members_counted"] == 2


def test_over_how_many_sits_a_fit_is_averaged_is_told(shared):
    Sit.objects.filter(stand=shared.creek, local_date=DAY + timedelta(days=1)).update(fit=None)

    rows = ask(shared, shared.cast.manager).data["members"]

    told = {row["name"]: (row["got"], row["sits_with_fit"], row["average_fit"]) for row in rows}
    assert told["Mia Member"] == (2, 1, pytest.approx(0.9))
    assert told["Ben Second"] == (0, 0, None)


def test_a_member_sees_their_own_place_only(shared):
    found = ask(shared, shared.cast.member).data

    assert [row["name"] for row in found["members"]] == ["Mia Member"]
    assert found["members"][0]["place_from_worst_served"] == 2
    assert found["worst_served"] is None
    assert "Ben" not in str(found)
    assert str(shared.ben.id) not in str(found)


def test_days_outside_the_ones_asked_about_do_not_count(shared):
    found = ask(shared, shared.cast.manager, first_on="2025-11-09", last_on="2025-11-10").data

    rows = {row["name"]: row for row in found["members"]}
    assert (rows["Mia Member"]["got"], rows["Mia Member"]["asked"]) == (1, 0)
    wrong = ask(shared, shared.cast.manager, first_on="2025-11-10", last_on="2025-11-09")
    assert wrong.status_code == 400


def test_sits_that_nobody_wished_for_are_got_beyond_what_was_asked(shared):
    SitRequest.objects.filter(person=shared.cast.member).update(wanted_sits=1)

    (mia,) = ask(shared, shared.cast.member).data["members"]

    assert (mia["asked"], mia["got"]) == (1, 2)


def test_a_landowner_is_refused_and_a_stranger_does_not_see_the_property(shared):
    assert ask(shared, shared.cast.landowner).status_code == 403
    assert ask(shared, shared.cast.stranger).status_code == 400


def test_the_number_of_queries_does_not_depend_on_members(shared, django_assert_max_num_queries):
    client = shared.cast.client(shared.cast.manager)
    with django_assert_max_num_queries(14):
        client.get("/api/v1/fairness/", {"property": str(shared.cast.north.id)})


def test_entitlement_divides_what_somebody_got():
    half = Share(person_id="a", name="A", weight=2, got=2, fits=(0.8, 0.8))
    whole = Share(person_id="b", name="B", weight=1, got=1, fits=(0.9,))
    idle = Share(person_id="c", name="C")

    assert [share.name for share in from_worst_served([whole, half, idle])] == ["A", "B"]


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2025, 10, 1), Prime.OPENER),
        (date(2025, 10, 2), Prime.OPENER),
        (date(2025, 10, 3), None),
        (date(2025, 10, 4), Prime.WEEKEND),
        (date(2025, 12, 31), Prime.RUT),
        (date(2026, 1, 10), Prime.RUT),
        (date(2026, 1, 12), None),
    ],
)
def test_a_day_is_prime_as_opener_in_the_rut_or_at_a_weekend(day, expected):
    found = prime_class(
        day,
        season_openings=[date(2025, 10, 1)],
        opening_days=2,
        rut_from="12-20",
        rut_until="01-10",
        weekdays=(6, 7),
    )

    assert found is expected
