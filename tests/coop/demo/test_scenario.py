"""The demo holds what it promises, and its characters are who they are said to be."""

import itertools
from datetime import datetime

import pytest
from django.test import Client

from coop.access.models import PersonalToken
from coop.demo import people, scenario
from coop.demo.history import OVER_HUNTED
from coop.demo.run import Demo
from coop.demo.scenario import Calendar
from coop.demo.tokens import TOKEN_NAME, renew_tokens
from properties.land.models import Property
from properties.people.models import Member, Paper, Person, PropertyShare, RoleGrant
from properties.stands.models import Stand
from properties.wind.models import ObservedHour
from properties.wind.sectors import SECTOR_NAMES
from scheduling.errands.models import Errand, ErrandKind
from scheduling.sits.models import Harvest, Sit, SitReport, SitRequest, SitState
from scrapes.cameras.models import CameraStatus, CameraUnit, Observation
from scrapes.care.models import ReviewVerdict
from scrapes.care.review import judge_scrapes
from scrapes.sites.models import Scrape

pytestmark = pytest.mark.django_db


def test_the_database_says_that_it_is_invented(demo: Demo) -> None:
    assert "invented" in demo.cooperative.cooperative.name
    assert "invented" in demo.cooperative.outfitter.name


def test_the_counts_are_as_promised(demo: Demo) -> None:
    lands = list(demo.cooperative.lands.values())
    counted = {
        "properties": len(lands),
        "stands": Stand.objects.filter(property__in=lands).count(),
        "scrapes": Scrape.objects.filter(property__in=lands).count(),
        "cameras": CameraUnit.objects.filter(property__in=lands).count(),
        "members": Member.objects.filter(person__cooperative=demo.cooperative.cooperative).count(),
    }
    assert counted == scenario.TALLY


def test_two_landowners_own_three_properties_and_the_outfitter_sees_two(demo: Demo) -> None:
    owned = RoleGrant.objects.filter(role="landowner").values_list("person__name", flat=True)
    assert sorted(owned) == ["Amos Pell", "Edith Farrow", "Edith Farrow"]
    assert PropertyShare.objects.filter(outfitter=demo.cooperative.outfitter).count() == 2


def test_every_member_holds_every_paper_and_one_has_run_out(demo: Demo, calendar: Calendar) -> None:
    papers = Paper.objects.filter(person__member__isnull=False)
    assert papers.count() == len(people.PAPERS) * scenario.TALLY["members"]
    expired = papers.filter(expires_on__lt=calendar.today)
    assert [paper.person.name for paper in expired] == [scenario.EXPIRED_PAPER_OF]


def test_one_stand_is_overdue_for_inspection_and_one_is_closed(
    demo: Demo, calendar: Calendar
) -> None:
    overdue = Stand.objects.filter(last_inspected_on__lt=calendar.day(-365))
    assert [stand.name for stand in overdue] == ["Oak point ladder"]
    assert [stand.name for stand in Stand.objects.filter(is_open=False)] == ["Thicket hang-on"]


def test_the_season_that_was_kept_to_rest_and_to_one_place_a_day(demo: Demo) -> None:
    sits = list(Sit.objects.filter(host=None).order_by("stand_id", "local_date"))
    assert len(sits) > 100
    for one, other in itertools.pairwise(sits):
        if one.stand_id == other.stand_id:
            assert (other.local_date - one.local_date).days >= 3
    assert len({(sit.person_id, sit.local_date) for sit in sits}) == len(sits)


def test_past_sits_know_their_wind_and_their_reports_tell_of_deer(demo: Demo) -> None:
    sits = Sit.objects.exclude(state=SitState.MISSED)
    assert not sits.filter(observed_sector=None).exists()
    assert SitReport.objects.filter(sightings__count__gte=1).exists()
    assert SitReport.objects.filter(deer_alarmed__gte=1).exists()
    assert Harvest.objects.exists()
    owing = sits.filter(report=None, host=None)
    assert [sit.person.name for sit in owing] == [scenario.OWES_A_REPORT]


def test_the_favourite_stand_bore_two_south_west_evenings_within_ten_days(
    demo: Demo, calendar: Calendar
) -> None:
    recent = Sit.objects.filter(stand__name=OVER_HUNTED, local_date__gt=calendar.day(-9))
    sectors = [SECTOR_NAMES[sit.observed_sector] for sit in recent]
    assert sectors.count("SW") == 2


def test_tomorrow_evening_is_forecast_from_the_south_west(demo: Demo) -> None:
    coming = demo.cooperative.lands[people.RIDGE].forecast_issues.get().hours
    evening = [demo.calendar.at(1, hour) for hour in (14, 15, 16, 17)]
    directions = [
        direction
        for starts_at, direction in zip(coming["starts_at"], coming["wind_from_deg"], strict=True)
        if datetime.fromisoformat(starts_at) in evening
    ]
    assert len(directions) == len(evening)
    assert all(200 <= direction <= 250 for direction in directions)


def test_one_member_asks_for_more_than_the_rules_could_ever_give(demo: Demo) -> None:
    asked = SitRequest.objects.get(person__name=scenario.ASKS_TOO_MUCH)
    days = (asked.last_on - asked.first_on).days + 1
    assert asked.wanted_sits > days


def test_one_member_asks_for_a_morning_with_a_guest_of_their_own(demo: Demo) -> None:
    (asked,) = SitRequest.objects.exclude(guests=[])
    guest = Person.objects.get(id=asked.guests[0])
    assert (asked.person.name, guest.name) == ("Kirsten Vale", "Cal Vale")
    assert guest.host == asked.person


def test_the_dead_camera_fell_silent_and_nobody_has_noted_it(
    demo: Demo, calendar: Calendar
) -> None:
    camera = CameraUnit.objects.get(name="S-3")
    last = CameraStatus.objects.filter(camera=camera).latest("reported_at").reported_at
    assert (calendar.now - last).days >= 8
    assert not camera.deployments.get().outages.exists()
    later = Observation.objects.filter(
        deployment__camera=camera, observed_at__gt=calendar.at(-8, 0)
    )
    assert not later.exists()


@pytest.mark.parametrize("key", [people.RIDGE, people.DRAWS, people.BOTTOM])
def test_the_review_finds_each_story_and_no_other(demo: Demo, calendar: Calendar, key: str) -> None:
    land = Property.objects.select_related("cooperative").get(id=demo.cooperative.lands[key].id)
    verdicts = {
        one.scrape.name: one.verdict
        for one in judge_scrapes(land, now=calendar.now)
        if one.verdict is not ReviewVerdict.STEADY
    }
    assert (
        verdicts
        == {
            people.RIDGE: {"Saddle scrape": ReviewVerdict.REFRESH},
            people.DRAWS: {"Brassica scrape": ReviewVerdict.CHECK_CAMERA},
            people.BOTTOM: {"Chicory scrape": ReviewVerdict.REST_STAND},
        }[key]
    )


def test_work_done_is_on_record_and_no_errand_is_open_before_the_review(demo: Demo) -> None:
    kinds = set(Errand.objects.filter(state="done").values_list("kind", flat=True))
    assert {ErrandKind.REFRESH_SCENT, ErrandKind.CHECK_CAMERA, ErrandKind.TRIM} <= kinds
    assert not Errand.objects.filter(state="open").exists()


def test_observed_wind_comes_from_a_logger_and_from_a_station(demo: Demo) -> None:
    sources = ObservedHour.objects.filter(
        property=demo.cooperative.lands[people.BOTTOM]
    ).values_list("source", flat=True)
    assert set(sources) == {"csv", "metar"}


def test_every_row_of_every_file_is_accounted_for(demo: Demo) -> None:
    for account in demo.accounts:
        counted = account.taken + account.held + account.set_aside + account.skipped
        assert account.read == counted, account.path.name
        assert account.taken > 0


def test_spoiled_lines_are_skipped_with_their_reasons(demo: Demo) -> None:
    skipped = {account.path.name: account.skipped for account in demo.accounts if account.skipped}
    assert skipped == {
        "quillback-ridge-wind.csv": 2,
        "quillback-ridge-pictures.csv": 1,
        "sorrel-draws-wind.csv": 2,
        "sorrel-draws-pictures.csv": 1,
        "nettle-bottom-wind.csv": 2,
    }


def test_a_second_run_adds_nothing(demo: Demo) -> None:
    before = (Sit.objects.count(), Observation.objects.count())
    again = Demo(calendar=demo.calendar, folder=demo.folder)
    again.lay_out()
    again.write_inputs()
    again.take_in()
    again.tell_history()
    assert again.was_built
    assert again.cooperative.cooperative == demo.cooperative.cooperative
    assert sum(account.taken for account in again.accounts) == 0
    assert (Sit.objects.count(), Observation.objects.count()) == before


def test_tokens_are_renewed_and_never_pile_up(demo: Demo) -> None:
    first = renew_tokens(demo.cooperative, demo.calendar)
    second = renew_tokens(demo.cooperative, demo.calendar)
    assert PersonalToken.objects.filter(name=TOKEN_NAME).count() == 4
    assert not {token.token for token in first} & {token.token for token in second}


def test_every_line_to_try_is_answered(demo: Demo) -> None:
    for token in renew_tokens(demo.cooperative, demo.calendar):
        answer = Client().get(
            token.path, headers={"Authorization": f"{token.scheme} {token.token}"}
        )
        assert answer.status_code == 200, (token.role, answer.content)
