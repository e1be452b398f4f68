"""A list of a thousand rows takes as many queries as one of ten: every list, by construction."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.db.models import Model, UUIDField
from django.test.utils import CaptureQueriesContext

from coop.access.models import PersonalToken
from properties.wind.models import ObservedHour
from scrapes.cameras.models import Observation
from tests.coop.access.endpoint import resolved
from tests.coop.access.endpoints import ENDPOINTS
from tests.coop.access.kinds import KINDS
from tests.coop.access.knocking import ROUTES, Knock
from tests.copies import copy

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def nothing_kept(settings):
    """Rows are copied here past the services, which would end what is kept."""
    settings.OFFERS_KEPT_SECONDS = 0


FEW, MANY = 10, 1_000
NUMBERED: dict[str, type[Model]] = {"observation": Observation, "observed_hour": ObservedHour}


@dataclass(frozen=True, kw_only=True)
class Grows:
    """``kind`` is what there is more of; ``also`` its references that are copied with it.

    ``many``: less than a thousand where each row is computed, not read.
    """

    kind: str
    also: tuple[str, ...] = ()
    many: int = MANY


# Lists name what they list in the table of endpoints; here stand those that compute, and whose
# rows cannot be had without rows beside them.
GROWS: dict[str, Grows] = {
    "GET calendar-feeds/": Grows(kind="own_calendar_feed", also=("property",)),
    "GET reports/": Grows(kind="report", also=("property",)),
    "GET stand-exclusions/": Grows(kind="exclusion", also=("second",)),
    "GET deployments/": Grows(kind="deployment", also=("camera",)),
    "GET errand-walks/": Grows(kind="errand", many=100),
    "GET fairness/": Grows(kind="sit_request", also=("person",)),
    "GET harvest-figures/": Grows(kind="harvest"),
    "GET harvests/export/": Grows(kind="harvest"),
    "GET land-calendar/": Grows(kind="closure", many=100),
    "GET standings/": Grows(kind="role", also=("person",)),
    # No property has two of them on one day.
    "GET lease-terms/": Grows(kind="lease_terms", also=("property",)),
    "GET leases/": Grows(kind="lease", also=("property",)),
    "GET regulations/": Grows(kind="regulation", also=("property",)),
    "GET me/": Grows(kind="role", also=("property",)),
    "GET land-today/": Grows(kind="property"),
    "GET week-ahead/": Grows(kind="property"),
    "GET my-season/": Grows(kind="own_sit"),
    "GET my-season/html/": Grows(kind="own_sit", many=100),
    "GET observations/export/": Grows(kind="observation"),
    "GET offers/": Grows(kind="stand", many=100),
    "GET roster/": Grows(kind="sit"),
    "GET scent-effects/": Grows(kind="scent_application"),
    "GET visits/": Grows(kind="scrape"),
    "GET visits/export/": Grows(kind="observation"),
}
# Told from the program itself, of one account, or of one place and time.
OF_ONE_THING = {
    "GET ",
    "GET herd-observations/",  # a week of the season each, however much was seen
    "GET medical-notes/mine/",
    "GET medical-notes/readings/",  # of one's own one note
    "GET second-factor/",
    "GET cooperatives/",  # somebody belongs to one
    "GET house-rules/",
    "GET notice-preferences/mine/",
    "GET offers/changes/",  # a property each that somebody may see
    "GET regulations/in-force/",  # the one of a day
    "GET scent-applications/permitted/",
    "GET season-curves/",  # a day of the season each, however much was seen
    "GET settings/",
    "GET siting/build-sheet/",
    "GET siting/picture/",
    "GET visit-hours/",
    "GET webhooks/event-types/",
}

LISTS = {
    key: GROWS.get(key) or Grows(kind=ENDPOINTS[key].lists[0])
    for key, route in sorted(ROUTES.items())
    if route.method == "get"
    and "{" not in route.path
    and key in ENDPOINTS
    and key not in OF_ONE_THING
    and (key in GROWS or ENDPOINTS[key].lists)
}


def test_every_list_is_counted_or_said_to_be_of_one_thing():
    asked = {
        key for key, route in ROUTES.items() if route.method == "get" and "{" not in route.path
    }

    assert not asked - set(LISTS) - OF_ONE_THING, (
        "say in GROWS what there is more of when these lists grow, or that they are of one thing"
    )
    assert set(GROWS) | OF_ONE_THING <= asked


@pytest.mark.parametrize("key", LISTS)
def test_a_list_takes_as_many_queries_of_many_rows_as_of_few(world, clients, key):
    grows = LISTS[key]
    row = _row(grows.kind, world.ids["north"])
    caller = KINDS[grows.kind].owner or "coordinator"
    for name in grows.also:
        if getattr(row, name) is None:
            setattr(row, name, _row(name, world.ids["north"]))
    with transaction.atomic():
        copy(row, FEW - 1, also=grows.also)
        ask = _asker(world, clients[caller], key)
        ask()  # what is looked up once for a process
        few, shown_of_few = ask()
        copy(row, grows.many - FEW, start=FEW, also=grows.also)
        many, shown_of_many = ask()
        transaction.set_rollback(True)

    assert len(shown_of_many) > len(shown_of_few), "the list did not grow"
    assert len(many) == len(few), "\n".join(_new(few, many))


def _row(kind: str, ids: Mapping[str, str]) -> Any:
    """The row of the world of this kind, whatever its model."""
    identity = ids[kind]
    if kind in NUMBERED:
        return NUMBERED[kind].objects.get(pk=identity)
    if kind == "own_token":
        return PersonalToken.objects.get(token_key=identity)
    for model in apps.get_models():
        if isinstance(model._meta.pk, UUIDField):
            found = model._default_manager.filter(pk=identity).first()
            if found is not None:
                return found
    raise AssertionError(f"nothing has the id {identity}")


def _asker(world, client, key):
    endpoint, route = ENDPOINTS[key], ROUTES[key]
    knock = Knock(route=route, endpoint=endpoint, place="north")
    query = _query(world, knock)
    if getattr(route.view, "pagination_class", None) and route.action == "list":
        query |= {"page_size": 1000}

    def ask() -> tuple[list[Mapping[str, str]], bytes]:
        with CaptureQueriesContext(connection) as counted:
            answer = client.get(f"/api/v1/{route.path}", query)
            content = answer.getvalue() if answer.streaming else answer.content
        assert answer.status_code == 200, content[:300]
        return counted.captured_queries, content

    return ask


def _query(world, knock) -> dict[str, Any]:
    return dict(resolved(dict(knock.endpoint.query or {}), world.ids["north"].__getitem__))


def _new(few, many):
    """The queries of the longer run that the shorter did not have as often."""
    seen = [query["sql"][:60] for query in few]
    for query in many:
        start = query["sql"][:60]
        if start in seen:
            seen.remove(start)
        else:
            yield query["sql"][:300]
