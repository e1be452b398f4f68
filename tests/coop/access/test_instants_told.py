"""Instants of a place carry the offset of its property then; those of a record are UTC.

Every serializer is looked at, and what every GET of the table of endpoints answers: an instant is
of a place unless its name stands here.
"""

import json
import re
from collections.abc import Iterator
from datetime import datetime, tzinfo
from zoneinfo import ZoneInfo

import pytest
from rest_framework import serializers

from coop.api.fields import LocalInstantField
from tests.coop.access.endpoints import ENDPOINTS
from tests.coop.access.knocking import ROUTES, knocks

pytestmark = pytest.mark.django_db

_NAMES = """
    acknowledged_at acted_at attempted_at bucks_decided_at cancelled_at changed_at
    check_in_entered_at check_out_entered_at closed_at computed_at confirmed_at counted_at
    created_at cut_off_at data_cut_off_at disabled_at due_at emptied_at entered_at erased_at
    excused_at expires_at failing_since filled_at finished_at imported_at issued_at
    last_delivered_at last_used_at learned_at lifted_at moved_at occurred_at offered_at
    previous_until published_at read_at received_at recorded_at replaced_at retired_at revoked_at
    sent_at started_at told_at updated_at weighed_at withdrawn_at
"""
RECORDS = frozenset(_NAMES.split())
"""When something was made, changed or sent, whoever tells it."""
RECORDS_HERE = {
    "FollowUpSerializer": {"at"},
    "JobLogLineSerializer": {"at"},
    "LandTodaySerializer": {"asked_at"},
    "SitReportSerializer": {"reported_at"},
    "SitReportInputSerializer": {"reported_at"},
    "SitTransferSerializer": {"ended_at"},
    "WaitingEntrySerializer": {"asked_at", "ended_at"},
    "WaitingEntryDetailSerializer": {"asked_at", "ended_at"},
}
"""Names that are of a record in one serializer and of a place in another."""
WEATHER_HERE = {
    "ForecastSerializer": {"first_hour_at", "last_hour_at"},
    "ForecastDetailSerializer": {"first_hour_at", "last_hour_at"},
    "ObservedHourSerializer": {"starts_at"},
}
"""Weather as it was kept, whole hours of UTC."""
ONLY_READ = {
    "BackLaterSerializer",
    "HourSerializer",
    "JoinSerializer",
    "MoveSerializer",
    "NewTrackingSerializer",
    "RecoveredDeerSerializer",
    "TakeDownSerializer",
    "TrackingChangeSerializer",
    "TrueTimeSerializer",
    "WeatherInputSerializer",
}
"""Serializers of bodies that are sent, in which any offset is taken."""
ALSO_ONLY_READ = {("scheduling.sits.serializers", "TrackingSerializer")}

UTC_UNDER = {
    "forecasts/": r"first_hour_at|last_hour_at|starts_at",
    "observed-hours/": r"starts_at",
    "incident-follow-ups/": r"at",
    "jobs/": r"at",
    "land-today/": r"asked_at",
    "sit-reports/": r"reported_at",
    "sit-transfers/": r"ended_at",
    "waiting-list/": r"asked_at|ended_at",
    # Rows as they were stored.
    "audit-events/": r".*",
}
"""Beside the names of records, by the beginning of the address."""
ASKED = sorted(
    key
    for key in set(ROUTES) & set(ENDPOINTS)
    if key.startswith("GET ") and not key.endswith(("html/", "pdf/", "picture/"))
)
INSTANT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)")
ZONE = ZoneInfo("America/Chicago")


def serializer_classes(
    base: type[serializers.BaseSerializer] = serializers.Serializer,
) -> Iterator[type[serializers.BaseSerializer]]:
    for each in base.__subclasses__():
        if each.__module__.split(".")[0] in ("coop", "properties", "scheduling", "scrapes"):
            yield each
        yield from serializer_classes(each)


def test_every_instant_of_a_serializer_is_of_a_record_or_told_by_the_clock_of_its_property():
    strays = set()
    for each in serializer_classes():
        name = each.__name__
        if name in ONLY_READ or (each.__module__, name) in ALSO_ONLY_READ:
            continue
        utc = RECORDS | RECORDS_HERE.get(name, set()) | WEATHER_HERE.get(name, set())
        for member, one in each().fields.items():
            is_instant = isinstance(one, serializers.DateTimeField) and not one.write_only
            if is_instant and isinstance(one, LocalInstantField) == (member in utc):
                strays.add(f"{name}.{member}")

    assert not strays, (
        f"{', '.join(sorted(strays))}: of a place, then a LocalInstantField; of a record, then "
        "its name stands above"
    )


def test_every_answer_tells_instants_of_the_ground_with_the_offset_of_the_property(world, clients):
    local, faults = set(), []
    for key in ASKED:
        for knock in knocks(ROUTES[key], ENDPOINTS[key], world):
            if knock.place != "north":
                continue
            answer, text = knock.answer(world, clients["coordinator"])
            if answer.status_code >= 300 or "json" not in answer.get("Content-Type", ""):
                continue
            for member, told in instants(json.loads(text)):
                is_utc = of_a_record(knock.route.path, member)
                if not is_utc:
                    local.add(member)
                if not (told.endswith("Z") if is_utc else has_offset(told, ZONE)):
                    faults.append(f"{key}: {member} is {told}")

    assert not faults, "\n".join(sorted(set(faults)))
    assert local >= {"starts_at", "ends_at", "taken_at", "observed_at", "hit_at", "comes_at"}


def instants(told, member: str = "") -> Iterator[tuple[str, str]]:
    """Each instant in an answer, with the name of the nearest member around it."""
    if isinstance(told, dict):
        for name, each in told.items():
            yield from instants(each, name)
    elif isinstance(told, list):
        for each in told:
            yield from instants(each, member)
    elif isinstance(told, str) and INSTANT.fullmatch(told):
        yield member, told


def of_a_record(path: str, member: str) -> bool:
    here = [names for start, names in UTC_UNDER.items() if path.startswith(start)]
    return member in RECORDS or any(re.fullmatch(names, member) for names in here)


def has_offset(told: str, zone: tzinfo) -> bool:
    instant = datetime.fromisoformat(told)
    return instant.utcoffset() == instant.astimezone(zone).utcoffset()
