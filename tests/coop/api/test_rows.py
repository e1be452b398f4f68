"""Lists told straight from columns say what the documented serializer says, to everybody."""

import json
import random
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from coop.api.rendering import FastJSONRenderer
from coop.api.rows import RowListMixin
from coop.api.sparse import only_fields
from properties.stands.api import StandSerializer, StandViewSet
from properties.stands.models import Cover, Stand, StandKind
from properties.stands.queries import stands_visible_to
from scheduling.sits.api import SitViewSet
from scheduling.sits.models import Sit, SitOrigin, SitSpan, SitState
from scheduling.sits.queries import sits_visible_to
from scheduling.sits.serializers import SitSerializer
from tests.coop.access.test_routes import api_views

ROWS = 60
TEXTS = ("", "Oak; point", 'Früh "am" Bach\n\t', "<b>ė</b> \u2028 🦌", "0", "null")
FLOATS = (0.0, -0.0, 1e-9, 5.0, 0.1 + 0.2, 1e15, 359.999999)
CALLERS = ("coordinator", "manager", "member", "landowner", "stranger", "application")


def make_stands(cast: Any, chance: random.Random) -> None:
    lands = (cast.north, cast.south, cast.foreign)
    Stand.objects.bulk_create(
        Stand(
            property=chance.choice(lands),
            name=f"{chance.choice(TEXTS)} {number}",
            kind=chance.choice(StandKind.values),
            longitude=chance.uniform(-180, 180),
            latitude=chance.choice((chance.uniform(-90, 90), 43.0)),
            seat_height_m=chance.choice((0, 30, 4.8)),
            arc_from_deg=chance.choice((0, 300.5)),
            shot_distance_m=chance.choice((1, 27.432)),
            capacity=chance.randint(1, 10),
            cover=chance.choice(Cover.values),
            slope_aspect_deg=chance.choice((None, 0, 12.25)),
            approach_route=chance.choice((None, {"type": "LineString", "coordinates": [[1, 2.5]]})),
            exit_route=chance.choice((None, {})),
            flood_stage_m=chance.choice((None, -0.5)),
            rest_days=chance.choice((None, 0, 3)),
            last_inspected_on=chance.choice((None, date(2025, 2, 28))),
            is_open=chance.choice((True, False)),
            closed_reason=chance.choice(TEXTS),
            notes=chance.choice(TEXTS),
            settings=chance.choice(({}, {"rest": {"days": 2, "of": [1, None, True]}})),
            version=chance.randint(1, 9),
            retired_at=chance.choice((None, _instant(chance))),
        )
        for number in range(ROWS)
    )


def make_sits(cast: Any, chance: random.Random) -> None:
    make_stands(cast, chance)
    stands = list(Stand.objects.select_related("property"))
    people = (cast.member, cast.other_member, cast.stranger, cast.manager)

    def sit() -> Sit:
        stand, begins = chance.choice(stands), _instant(chance)
        arrived = chance.choice((None, _instant(chance)))
        return Sit(
            property=stand.property,
            stand=stand,
            person=chance.choice(people),
            host=chance.choice((None, *people)),
            outfitter=chance.choice((None, cast.outfitter)),
            local_date=date(2025, 11, 1) + timedelta(days=chance.randint(-200, 200)),
            span=chance.choice(SitSpan.values),
            starts_at=begins,
            ends_at=begins + timedelta(hours=4),
            state=chance.choice(SitState.values),
            origin=chance.choice(SitOrigin.values),
            lock_reason=chance.choice(TEXTS),
            weapon=chance.choice(("", "bow")),
            fit=chance.choice((None, *FLOATS)),
            sector_per_mille=chance.choice(([], [1000, 0])),
            observed_sector=chance.choice((None, 0, 7)),
            overrule_reason=chance.choice(TEXTS),
            checked_in_at=arrived,
            check_in_entered_at=arrived and arrived + timedelta(minutes=chance.choice((0, 90))),
            checked_out_at=arrived and arrived + timedelta(hours=1),
            check_out_entered_at=chance.choice((None, _instant(chance))),
            cancelled_at=chance.choice((None, _instant(chance))),
            cancel_reason=chance.choice(TEXTS),
            excused_at=chance.choice((None, _instant(chance))),
            back_by=chance.choice((None, _instant(chance))),
            acknowledged_at=chance.choice((None, _instant(chance))),
            acknowledged_by=chance.choice(TEXTS),
        )

    Sit.objects.bulk_create(sit() for _number in range(ROWS))


def _instant(chance: random.Random) -> datetime:
    """In summer and in winter time, with and without parts of a second."""
    at = datetime(2025, 6, 1, tzinfo=UTC) + timedelta(seconds=chance.randint(0, 20_000_000))
    return at.replace(microsecond=chance.choice((0, 500_000, 1)))


Make = Callable[[Any, random.Random], None]
LISTS: dict[type[RowListMixin], tuple[str, Make, Any, Any]] = {
    StandViewSet: ("stands", make_stands, StandSerializer, stands_visible_to),
    SitViewSet: ("sits", make_sits, SitSerializer, sits_visible_to),
}


def test_every_list_told_from_columns_is_compared_here():
    told_so = {view for _path, view, _actions in api_views() if issubclass(view, RowListMixin)}

    assert told_so == set(LISTS)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("view", LISTS, ids=lambda view: view.__name__)
def test_the_list_tells_what_the_serializer_tells(cast, view, seed):
    path, make, serializer, visible_to = LISTS[view]
    chance = random.Random(seed)
    make(cast, chance)
    members = list(serializer().fields)
    seen = 0
    for caller in CALLERS:
        client, actor = _caller(cast, caller)
        chosen = ",".join(chance.sample(members, 5))
        for fields in ("", "id", chosen):
            answer = client.get(
                f"/api/v1/{path}/", {"page_size": 1000} | ({"fields": fields} if fields else {})
            )
            if not answer.json().get("results"):
                continue
            rows = _in_order(visible_to(actor=actor), view)
            documented = _documented(serializer, rows, actor, fields)
            assert json.dumps(answer.json()["results"]) == json.dumps(documented), caller
            seen += len(documented)
    assert seen > 2 * ROWS


def test_a_page_of_a_thousand_is_given_and_a_larger_one_cut(cast):
    make_stands(cast, random.Random(0))
    client = cast.client(cast.coordinator)

    for size in (1000, 5000):
        answer = client.get("/api/v1/stands/", {"page_size": size}).json()
        assert len(answer["results"]) == Stand.objects.exclude(property=cast.foreign).count()
        assert answer["next"] is None


def test_pages_walk_through_every_row_once_even_on_one_day(cast):
    make_sits(cast, random.Random(1))
    Sit.objects.update(property=cast.north, local_date=date(2025, 11, 8))
    client, address, found = cast.client(cast.manager), "/api/v1/sits/?page_size=7", []
    while address:
        page = client.get(address).json()
        found += [row["id"] for row in page["results"]]
        address = page["next"]

    assert len(found) == len(set(found)) == ROWS


def _caller(cast, name):
    if name == "application":
        return cast.application_client("offers sits"), cast.application()
    person = getattr(cast, name)
    return cast.client(person), cast.actor(person)


def _in_order(rows, view):
    return rows.order_by(*getattr(view, "page_order", ("id",)))


def _documented(serializer, rows, actor, fields):
    context = {"request": SimpleNamespace(_actor=actor)}
    data = [dict(row) for row in serializer(rows, many=True, context=context).data]
    rendered = FastJSONRenderer().render(only_fields(data, fields) if fields else data)
    return json.loads(rendered)
