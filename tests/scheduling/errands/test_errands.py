"""Errands: opened once for one thing, sent to the least harmful hour, reminded until done."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from coop.access.actors import system_actor
from coop.api.problems import Problem
from coop.outbox.models import Message
from properties.conditions.models import Condition
from properties.land.services import create_feature
from properties.wind.services import store_forecast
from properties.wind.visit_hours import VisitHour
from properties.wind.weather_hours import WeatherImport, weather_hour
from scheduling.errands import hours
from scheduling.errands import life_services as services
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.opening_services import open_errand
from scheduling.errands.reminder_services import remind
from scheduling.errands.settings import ErrandSettings
from scheduling.sits.models import Sit, SitSpan
from scrapes.sites.models import Scrape
from tests.cast import NOW, make_stand, square

SYSTEM = system_actor("test")


@pytest.fixture
def scrape(cast) -> Scrape:
    land = cast.north
    return Scrape.objects.create(
        property=land,
        name="Bench scrape",
        kind="mock",
        longitude=land.longitude,
        latitude=land.latitude,
    )


def opened(scrape: Scrape, **fields) -> Errand:
    values = {"kind": ErrandKind.REFRESH_SCENT, "reason": "Visits fell.", "now": NOW, **fields}
    return open_errand(actor=SYSTEM, thing=scrape, **values)


def forecast(land, direction_at) -> None:
    found = tuple(
        weather_hour(
            instant=NOW + timedelta(hours=number),
            wind_from_deg=direction_at(number),
            speed_mps=4,
            source="test",
        )
        for number in range(100)
    )
    store_forecast(
        actor=SYSTEM,
        land=land,
        found=WeatherImport(hours=found, skipped=(), read=len(found), issued_at=NOW),
        source="test",
        now=NOW,
    )


def test_one_thing_has_one_open_errand_however_often_it_is_asked_for(scrape):
    assert opened(scrape).id == opened(scrape, reason="Again.").id
    assert Errand.objects.count() == 1


def test_after_it_was_done_a_new_errand_may_be_opened(cast, scrape):
    first = opened(scrape, kind=ErrandKind.REPAIR_SCRAPE)
    services.finish_errand(actor=cast.actor(cast.manager), errand=first, note="Two drops.", now=NOW)

    assert opened(scrape, kind=ErrandKind.REPAIR_SCRAPE).id != first.id


def test_without_a_forecast_it_says_so_and_names_no_hour(scrape):
    errand = opened(scrape)

    assert errand.go_from is None
    assert "No forecast" in errand.advice


def test_the_hour_advised_is_one_in_which_the_wind_spares_the_bedding(cast, scrape):
    land = cast.north
    create_feature(
        actor=SYSTEM,
        land=land,
        fields={
            "kind": "bedding",
            "name": "East bench",
            "geometry": square(land.longitude + 0.001, land.latitude - 0.001, 0.002),
        },
        now=NOW,
    )
    # West wind for a day, straight to the bench; then east wind, away from it.
    forecast(land, lambda number: 270 if number < 30 else 90)

    errand = opened(scrape)

    assert errand.go_from >= NOW + timedelta(hours=30)
    assert "wind from E" in errand.advice


def test_nobody_is_sent_into_an_occupied_session(cast, scrape):
    forecast(cast.north, lambda _number: 0)
    stand = make_stand(cast.north, "Oak")
    free = opened(scrape)
    Sit.objects.create(
        property=cast.north,
        stand=stand,
        person=cast.member,
        local_date=free.go_from.date(),
        span=SitSpan.MORNING,
        starts_at=free.go_from - timedelta(minutes=30),
        ends_at=free.go_until + timedelta(minutes=30),
    )
    Errand.objects.all().delete()

    planned = opened(scrape)

    occupied = Sit.objects.get()
    assert planned.go_until <= occupied.starts_at or planned.go_from >= occupied.ends_at


def test_of_equal_hours_the_earliest_is_taken():
    def at(hour: int, fit: float) -> VisitHour:
        return VisitHour(starts_at=NOW + timedelta(hours=hour), fit=fit, wind_from_deg=10.0)

    best = hours.least_harmful([at(5, 0.8), at(3, 0.8001), at(1, 0.5)])

    assert best == at(3, 0.8001)
    assert hours.least_harmful([]) is None


def test_only_hours_of_the_local_day_are_candidates():
    zone = ZoneInfo("America/Chicago")
    found = hours.candidate_hours(now=NOW, days=2, zone=zone, settings=ErrandSettings())

    assert {hour.astimezone(zone).hour for hour in found} == set(range(9, 15))
    assert min(found) > NOW


def test_reminders_go_to_the_manager_then_stop_when_it_is_done(cast, scrape):
    errand = opened(scrape, kind=ErrandKind.REPAIR_SCRAPE)

    assert remind(now=NOW).written == 1
    assert remind(now=NOW).written == 0
    assert remind(now=NOW + timedelta(days=3)).written == 1
    services.finish_errand(actor=cast.actor(cast.manager), errand=errand, note="", now=NOW)
    assert remind(now=NOW + timedelta(days=9)).written == 0

    assert Message.objects.filter(recipient=cast.manager.email).count() == 2
    assert "Visits fell." in Message.objects.first().text


def test_a_reminder_tells_of_what_stands_until_the_errand_is_due_and_of_nothing_else(cast, scrape):
    errand = opened(scrape)
    common = {"property": cast.north, "source": "gauge", "entered_by": "Max"}
    due_at = NOW + (errand.due_on - NOW.date())
    Condition.objects.create(kind="ice", starts_at=due_at, **common)
    Condition.objects.create(
        kind="water", water_level_m=4.2, starts_at=due_at + timedelta(days=1), **common
    )
    Condition.objects.create(
        kind="fire_danger", fire_danger_level=5, starts_at=NOW, withdrawn_at=NOW, **common
    )

    remind(now=NOW)

    text = Message.objects.get().text
    assert "Ice on ladders" in text
    assert "look yourself" in text
    assert "Water" not in text
    assert "Fire" not in text


def test_a_reminder_is_not_put_off_a_day_because_its_job_began_a_minute_earlier(scrape):
    opened(scrape)

    assert remind(now=NOW).written == 1
    assert remind(now=NOW + timedelta(days=3, minutes=-1)).written == 1


def test_reminders_end_by_themselves_at_the_settings_number(scrape):
    opened(scrape)
    written = sum(remind(now=NOW + timedelta(days=4 * n)).written for n in range(12))

    assert written == ErrandSettings().most_reminders


def test_an_assigned_errand_reminds_the_assignee_alone(cast, scrape):
    errand = opened(scrape)
    services.assign_errand(
        actor=cast.actor(cast.manager), errand=errand, assignee=cast.member, now=NOW
    )
    remind(now=NOW)

    assert set(Message.objects.values_list("recipient", flat=True)) == {cast.member.email}


def test_an_errand_is_given_only_to_somebody_of_the_property(cast, scrape):
    with pytest.raises(ValidationError, match="member or manager"):
        services.assign_errand(
            actor=cast.actor(cast.manager),
            errand=opened(scrape),
            assignee=cast.other_member,
            now=NOW,
        )


def test_a_member_finishes_what_is_theirs_or_nobodys_and_not_anothers(cast, scrape):
    errand = opened(scrape)
    services.assign_errand(
        actor=cast.actor(cast.manager), errand=errand, assignee=cast.manager, now=NOW
    )

    with pytest.raises(PermissionDenied):
        services.finish_errand(actor=cast.actor(cast.member), errand=errand, note="", now=NOW)


def test_a_closed_errand_cannot_be_closed_again(cast, scrape):
    errand = opened(scrape)
    actor = cast.actor(cast.manager)
    services.cancel_errand(actor=actor, errand=errand, reason="Dropped.", now=NOW)

    with pytest.raises(Problem, match="cancelled already"):
        services.finish_errand(actor=actor, errand=errand, note="", now=NOW)


def test_over_http_a_manager_opens_and_a_member_finishes(cast, scrape):
    opening = cast.client(cast.manager).post(
        "/api/v1/errands/",
        {"kind": "repair_scrape", "scrape": str(scrape.id), "reason": "The wire is loose."},
        format="json",
    )
    url = f"/api/v1/errands/{opening.data['id']}/"
    member = cast.client(cast.member)

    assert opening.status_code == 201
    assert member.post(url + "cancel/", {}, format="json").status_code == 403
    done = member.post(url + "finish/", {"note": "Wire ends bent in."}, format="json")
    assert (done.status_code, done.data["state"]) == (200, ErrandState.DONE)
    assert done.data["done_note"] == "Wire ends bent in."


def test_an_errand_about_two_things_is_refused(cast, scrape):
    stand = make_stand(cast.north, "Oak")
    answer = cast.client(cast.manager).post(
        "/api/v1/errands/",
        {"kind": "trim", "scrape": str(scrape.id), "stand": str(stand.id), "reason": "x"},
        format="json",
    )

    assert answer.status_code == 400
    assert "exactly one" in answer.data["detail"]
    assert [error["pointer"] for error in answer.data["errors"]] == ["#/scrape", "#/stand"]


@pytest.mark.parametrize(
    ("kind", "member"),
    [
        ("refresh_scent", "scrape"),
        ("repair_scrape", "scrape"),
        ("check_camera", "camera"),
        ("inspect_stand", "stand"),
    ],
)
def test_an_errand_without_what_its_kind_is_about_is_told_what_to_name(cast, kind, member):
    answer = cast.client(cast.manager).post(
        "/api/v1/errands/", {"kind": kind, "reason": "It is time."}, format="json"
    )

    assert answer.status_code == 400
    (error,) = answer.data["errors"]
    assert (error["pointer"], error["detail"]) == (
        f"#/{member}",
        f"Name the {member}: {kind} is about one.",
    )


def test_an_inspection_of_a_scrape_is_refused_at_both_places(cast, scrape):
    body = {"kind": "inspect_stand", "scrape": str(scrape.id), "reason": "It is time."}
    answer = cast.client(cast.manager).post("/api/v1/errands/", body, format="json")

    told = {error["pointer"]: error["detail"] for error in answer.data["errors"]}
    assert told == {
        "#/stand": "Name the stand: inspect_stand is about one.",
        "#/scrape": "inspect_stand is about a stand.",
    }


def test_work_of_any_sort_about_nothing_is_refused(cast):
    answer = cast.client(cast.manager).post(
        "/api/v1/errands/", {"kind": "mend", "reason": "It is broken."}, format="json"
    )

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.data["errors"]] == ["#"]


def test_a_stranger_cannot_tell_that_an_errand_exists(cast, scrape):
    errand = opened(scrape)
    client = cast.client(cast.stranger)

    assert client.get("/api/v1/errands/").data["results"] == []
    assert client.get(f"/api/v1/errands/{errand.id}/").status_code == 404
    assert client.post(f"/api/v1/errands/{errand.id}/finish/").status_code == 404
