"""Instants asked for in filters: any offset, and no instant that has no day somewhere."""

from datetime import UTC, datetime

import pytest
from django.core.exceptions import ValidationError

from coop.api.filters import InstantField
from coop.api.instants import refuse_far_instants
from coop.api.problems import InvalidInput
from tests.scrapes.sites.places import make_scrape


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("2025-11-01T12:00:00Z", datetime(2025, 11, 1, 12, tzinfo=UTC)),
        # PostgreSQL itself reads no offset of 16 hours and more (its manual, from memory).
        ("2025-11-01T12:00:00+23:13", datetime(2025, 10, 31, 12, 47, tzinfo=UTC)),
        ("2025-11-01T12:00:00-20:00", datetime(2025, 11, 2, 8, tzinfo=UTC)),
        ("0002-01-01T00:00:00+14:00", datetime(1, 12, 31, 10, tzinfo=UTC)),
    ],
)
def test_an_instant_is_asked_for_in_utc_whatever_its_offset(text, instant):
    found = InstantField().clean(text)

    assert (found, found.utcoffset()) == (instant, UTC.utcoffset(None))


@pytest.mark.parametrize(
    "text",
    [
        "0001-01-01T00:00:00+14:00",
        "0001-12-31T00:00:00Z",
        "9999-12-31T23:59:59-14:00",
        "2025-12-31T23:59:60Z",
        "2025-11-01T12:00:00+24:00",
        "noon",
    ],
)
def test_what_has_no_day_in_some_time_zone_is_refused(text):
    with pytest.raises(ValidationError):
        InstantField().clean(text)


@pytest.mark.parametrize(
    "query",
    [
        "deployments/?until=0142-04-20T19:40:28.0%2B17:19",
        "deployments/?since=9999-12-31T23:59:59-14:00",
        "observations/?since=0202-06-01T02:06:52-20:00",
        "scent-applications/?since=0065-06-05T11:03:07.1%2B23:13",
        "incidents/?happened_at__lt=0001-01-01T00:00:00%2B14:00",
        "audit-events/?since=9999-12-31T23:59:59-14:00",
    ],
)
def test_no_list_fails_on_the_offset_of_an_instant(cast, query):
    assert cast.client(cast.coordinator).get(f"/api/v1/{query}").status_code in (200, 400)


@pytest.mark.parametrize("instant", ["0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z"])
def test_an_instant_that_has_no_day_somewhere_is_named_where_it_was_sent(cast, instant):
    client, scrape = cast.client(cast.manager), make_scrape(cast.north)
    on_it = {"property": str(cast.north.id), "person": str(cast.member.id)}
    asked = [
        ("scent-applications/", {"scrape": str(scrape.id), "scent": "gland"}, "applied_at"),
        ("harvests/", {**on_it, "harvest_class": "antlerless"}, "taken_at"),
    ]
    for path, body, name in asked:
        answer = client.post(f"/api/v1/{path}", {**body, name: instant})

        assert answer.status_code == 400
        assert [error["pointer"] for error in answer.json()["errors"]] == [f"#/{name}"]


def test_instants_are_looked_for_however_deep_they_lie():
    far = datetime(9999, 12, 31, tzinfo=UTC)
    with pytest.raises(InvalidInput) as caught:
        refuse_far_instants({"a": [{"b": far}, {"b": datetime(2025, 1, 1, tzinfo=UTC)}], "c": far})

    pointers = [error["pointer"] for error in caught.value.members["errors"]]
    assert pointers == ["#/a/0/b", "#/c"]
