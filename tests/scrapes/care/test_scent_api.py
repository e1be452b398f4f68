"""Scent over HTTP: only what is permitted, and what visits did after it."""

from datetime import timedelta

import pytest

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from properties.land.settings import InvalidSetting, resolve
from scrapes.care.models import ScentApplication
from scrapes.care.queries import refresh_effects
from scrapes.care.settings import CareSettings
from tests.cast import NOW
from tests.scrapes.seasons import (
    FLAT,
    evenly,
    observe,
    other_animals,
    steady,
    watched_scrape,
    without_a_season,
)
from tests.scrapes.sites.places import make_scrape

PATH = "/api/v1/scent-applications/"


@pytest.fixture
def north(cast):
    cast.north.settings = {**FLAT, "care": {"permitted_scents": ["Synthetic gland"]}}
    cast.north.save()
    return cast.north


def applied(scrape, days_ago, scent="Synthetic gland"):
    return ScentApplication.objects.create(
        scrape=scrape, applied_at=NOW - timedelta(days=days_ago), scent=scent
    )


def test_a_member_records_a_permitted_scent_and_the_fact_is_told(north, cast):
    scrape = make_scrape(north)

    answer = cast.client(cast.member).post(
        PATH, {"scrape": scrape.id, "scent": "synthetic GLAND", "notes": "Two drops."}
    )

    assert answer.status_code == 201, answer.data
    assert answer.data["scent"] == "Synthetic gland"
    assert answer.data["applied_by_name"] == "Mia Member"
    assert answer["Location"].endswith(f"{answer.data['id']}/")
    (fact,) = Fact.objects.filter(topic="scent.applied")
    assert fact.ids["scrape"] == str(scrape.id)
    assert AuditEvent.objects.filter(object_id=answer.data["id"]).exists()


def test_anything_else_is_refused_with_the_reason(north, cast):
    scrape = make_scrape(north)

    answer = cast.client(cast.manager).post(PATH, {"scrape": scrape.id, "scent": "doe urine"})

    assert answer.status_code == 409
    (refusal,) = answer.data["refusals"]
    assert refusal["code"] == "scent_not_permitted"
    assert refusal["facts"] == {"scent": "doe urine", "permitted": ["Synthetic gland"]}
    assert "local law" in refusal["sentence"]
    assert not ScentApplication.objects.exists()


def test_nothing_is_permitted_until_somebody_looked_it_up(cast):
    scrape = make_scrape(cast.north)

    answer = cast.client(cast.manager).post(PATH, {"scrape": scrape.id, "scent": "anything"})

    assert answer.status_code == 409
    assert "permitted: none" in answer.data["detail"]


def test_a_member_is_shown_what_is_permitted(north, cast):
    answer = cast.client(cast.member).get(f"{PATH}permitted/", {"property": north.id})

    assert answer.data["scents"] == ["Synthetic gland"]
    assert "Local law comes first" in answer.data["note"]
    hidden = cast.client(cast.stranger).get(f"{PATH}permitted/", {"property": north.id})
    assert hidden.status_code == 400


@pytest.mark.parametrize("names", [[""], [7], ["x" * 61]])
def test_a_list_of_scents_holds_names(names):
    with pytest.raises(InvalidSetting):
        resolve(CareSettings, {"care": {"permitted_scents": names}}, group_name="care")


def test_scent_cannot_be_applied_tomorrow_nor_on_what_is_given_up(north, cast):
    client = cast.client(cast.manager)
    scrape = make_scrape(north)
    body = {"scrape": scrape.id, "scent": "Synthetic gland"}

    ahead = client.post(PATH, {**body, "applied_at": "2099-01-01T00:00:00Z"})
    assert ahead.data["errors"][0]["pointer"] == "#/applied_at"
    scrape.retired_at = NOW
    scrape.save()
    assert client.post(PATH, body).data["errors"][0]["pointer"] == "#/scrape"


def test_hidden_and_unknown_scrapes_answer_alike(north, cast):
    scrape = make_scrape(north)
    client = cast.client(cast.stranger)

    hidden = client.post(PATH, {"scrape": scrape.id, "scent": "Synthetic gland"})
    unknown = client.post(PATH, {"scrape": north.id, "scent": "Synthetic gland"})

    assert hidden.status_code == unknown.status_code == 400
    assert hidden.data == unknown.data
    assert client.get(PATH).data["results"] == []


def test_who_may_not_see_scrapes_sees_no_scent(north, cast):
    application = applied(make_scrape(north), 3)

    assert cast.client(cast.landowner).get(f"{PATH}{application.id}/").status_code == 404
    assert cast.client(cast.member).get(f"{PATH}{application.id}/").status_code == 200


def test_listing_asks_as_often_for_many_as_for_one(north, cast, django_assert_num_queries):
    client = cast.client(cast.member)
    scrape = make_scrape(north)
    applied(scrape, 3)
    client.get(PATH)
    with django_assert_num_queries(3) as one:
        client.get(PATH)
    for number in range(5):
        applied(scrape, number + 4)
    with django_assert_num_queries(len(one)):
        assert len(client.get(PATH, {"property": north.id}).data["results"]) == 6


def test_an_effect_counts_before_and_after_against_scrapes_left_alone(north):
    hung = watched_scrape(north, "Oak")
    observe(hung, evenly(1.0, last=15))
    observe(hung, evenly(4.0, first=15))
    other_animals(hung)
    steady(north, "Bench", east=0.004)
    applied(hung.scrape, 15)

    found = refresh_effects(north, now=NOW)

    (one,) = found.refreshes
    assert one.effect.change == "more"
    assert one.effect.against_others
    assert one.effect.low < 4 < one.effect.high
    assert one.effect.ratio == pytest.approx(4, rel=0.3)
    assert list(found.by_scent) == ["Synthetic gland"]
    assert found.together.ratio == pytest.approx(one.effect.ratio)


def test_what_rose_everywhere_is_no_effect(north):
    for name, east in (("Oak", 0.0), ("Bench", 0.004)):
        hung = watched_scrape(north, name, east=east)
        observe(hung, evenly(1.0, last=15))
        observe(hung, evenly(4.0, first=15))
        other_animals(hung)
        if name == "Oak":
            applied(hung.scrape, 15)

    (one,) = refresh_effects(north, now=NOW).refreshes

    assert one.effect.low < 1 < one.effect.high


def test_a_scrape_refreshed_in_the_same_time_is_no_comparison(north):
    first, second = steady(north, "Oak"), steady(north, "Bench", east=0.004)
    applied(first.scrape, 15)
    applied(second.scrape, 12)

    assert not any(one.effect.against_others for one in refresh_effects(north, now=NOW).refreshes)


def test_visits_of_a_scrape_left_alone_are_not_counted_once_for_every_refresh(north):
    """Six scrapes refreshed on one day are set against one that was not: its visits are those of
    one scrape, so the pooled limits are hardly narrower than its own chance allows."""
    for number in range(6):
        hung = watched_scrape(north, f"S{number}", east=number * 0.004)
        observe(hung, evenly(2.0))
        other_animals(hung)
        applied(hung.scrape, 15)
    alone = watched_scrape(north, "Alone", north=0.004)
    observe(alone, evenly(1.0))
    other_animals(alone)

    together = refresh_effects(north, now=NOW).together

    # About 14 visits before and after: by their chance alone the ratio is known within
    # exp(1.96 sqrt(1/14 + 1/14)) = 2.1 to either side; six times as many would say 1.35.
    assert together.against_others
    assert together.high / together.ratio > 1.9


def test_too_few_visits_say_so_over_http_without_a_number(cast, time_machine):
    time_machine.move_to(NOW, tick=False)
    north = without_a_season(cast.north)
    hung = watched_scrape(north, "Oak")
    applied(hung.scrape, 10)

    answer = cast.client(cast.member).get("/api/v1/scent-effects/", {"property": north.id})

    assert answer.status_code == 200
    effect = answer.data["refreshes"][0]["effect"]
    assert (effect["change"], effect["ratio"]) == ("too_few_to_tell", None)
    assert (
        cast.client(cast.landowner)
        .get("/api/v1/scent-effects/", {"property": north.id})
        .status_code
        == 403
    )


def test_effects_ask_as_often_for_many_as_for_one(north, django_assert_num_queries):
    hung = steady(north, "Oak")
    applied(hung.scrape, 40)
    with django_assert_num_queries(8) as one:
        refresh_effects(north, now=NOW)
    applied(hung.scrape, 20)
    applied(steady(north, "Bench", east=0.004).scrape, 20)
    with django_assert_num_queries(len(one)):
        assert len(refresh_effects(north, now=NOW).refreshes) == 3
