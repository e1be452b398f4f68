"""The peak of breeding is a day that every year has; an older one that is none is told as unset."""

from datetime import date

import pytest

from coop.access.actors import system_actor
from properties.land.models import Property
from scheduling.worklist.generation_services import write_worklist
from scheduling.worklist.models import WorkItem, WorkTemplate
from scrapes.siting.season_air import season_air
from scrapes.visits.days import local_days_of
from tests.cast import NOW, square

IMPOSSIBLE = ["02-29", "02-30", "04-31", "06-00", "11-39"]


def url_of(land):
    return f"/api/v1/properties/{land.id}/"


@pytest.fixture
def unset(cast):
    """As a database made before may hold it."""
    Property.objects.filter(pk=cast.north.pk).update(peak_of_breeding="02-30")
    cast.north.refresh_from_db()
    return cast.north


@pytest.mark.parametrize("day", IMPOSSIBLE)
def test_a_peak_on_a_day_that_some_year_lacks_is_refused_where_it_stands(cast, day):
    changed = cast.client(cast.manager).patch(
        url_of(cast.north), {"peak_of_breeding": day}, format="json", headers={"If-Match": "*"}
    )
    made = cast.client(cast.coordinator).post(
        "/api/v1/properties/",
        {
            "cooperative": cast.cooperative.id,
            "name": "West",
            "time_zone": "America/Chicago",
            "boundary": square(-91.7, 43.2, 0.01),
            "peak_of_breeding": day,
        },
        format="json",
    )

    for answer in (changed, made):
        assert answer.status_code == 400, answer.data
        (error,) = answer.data["errors"]
        assert error["pointer"] == "#/peak_of_breeding"
        assert day in error["detail"]
    cast.north.refresh_from_db()
    assert cast.north.peak_of_breeding == "11-13"


def test_the_last_day_of_february_that_every_year_has_is_taken(cast):
    answer = cast.client(cast.manager).patch(
        url_of(cast.north), {"peak_of_breeding": "02-28"}, format="json", headers={"If-Match": "*"}
    )

    assert (answer.status_code, answer.data["peak_of_breeding"]) == (200, "02-28")


def test_a_stored_day_that_is_none_is_told_as_unset_and_may_be_mended(cast, unset):
    client = cast.client(cast.manager)
    told = client.get(url_of(unset)).data["peak_of_breeding"]
    answer = client.patch(
        url_of(unset), {"peak_of_breeding": "11-20"}, format="json", headers={"If-Match": "*"}
    )

    assert told == ""
    assert (answer.status_code, answer.data["peak_of_breeding"]) == (200, "11-20")


def test_the_curve_of_the_season_says_which_day_it_takes_where_none_is_set(cast, unset):
    client = cast.client(cast.member)
    answer = client.get("/api/v1/season-curves/", {"property": unset.id})

    assert answer.status_code == 200
    assert answer.data["peak_of_breeding"] == "11-13"
    assert "No peak of breeding is set here: 11-13 is taken." in answer.data["sentence"]


def test_visits_and_siting_reckon_with_the_usual_peak_where_none_is_set(cast, unset):
    on = date(2025, 11, 13)
    days = local_days_of([unset], first_on=on, last_on=on)[unset.id]
    air = season_air(unset, now=NOW)

    assert list(days.from_peak) == [0]
    assert air.first_on <= on <= air.last_on


def test_a_worklist_leaves_out_what_hangs_on_a_peak_that_is_not_set(cast, unset):
    unset.settings = {"worklist": {"weeks_ahead": 20}}
    unset.save()
    for anchor, title, day in (("peak", "By the peak", ""), ("day", "By the day", "11-20")):
        WorkTemplate.objects.create(
            property=unset, task="other", title=title, anchor=anchor, month_day=day
        )

    write_worklist(actor=system_actor("test"), land=unset, now=NOW)

    titles = set(WorkItem.objects.filter(property=unset).values_list("title", flat=True))
    assert "By the day" in titles
    assert "By the peak" not in titles
