"""One real write to each table that offers are judged by, through the service that writes it."""

from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from typing import Any

from coop.access.actors import system_actor
from coop.access.roles import Role
from properties.land.services import (
    change_cooperative,
    change_property,
    close_property,
    create_feature,
)
from properties.obligations.services import create_due, record_work_day
from properties.people.models import PropertyShare
from properties.people.outfitter_services import change_outfitter, revoke_share
from properties.people.role_services import grant_role
from properties.people.services import change_member, change_person, create_paper
from properties.people.youth_services import create_youth
from properties.sessions.models import Season
from properties.sessions.services import delete_season
from properties.stands.services import close_stand, exclude, record_inspection
from properties.wind.fit_services import compute_fits
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.report_services import report_sit
from tests.cast import NOW, square
from tests.properties.leases.plots import leased
from tests.properties.regulations.entries import entered
from tests.scheduling.sits.stage import DAY, Stage, booked, booked_for_client, sat
from tests.scheduling.sits.test_conditions import told
from tests.scheduling.sits.waiting import waits
from tests.scheduling.sync.winds import forecast_comes

Write = Callable[[], Any]
Prepare = Callable[[Stage], Write]

by_system = {"actor": system_actor("test"), "now": NOW}


def _client(stage: Stage) -> Write:
    return partial(booked_for_client, stage)


def _report(stage: Stage) -> Write:
    sit = sat(stage, booked(stage))
    actor = stage.cast.actor(sit.person)
    return partial(report_sit, actor=actor, sit=sit, fields={}, now=sit.ends_at)


def _fits(stage: Stage) -> Write:
    forecast_comes(stage.cast.north, 90)
    return partial(compute_fits, land=stage.cast.north, first_on=DAY, last_on=DAY, now=NOW)


def _feature(stage: Stage) -> Write:
    land = stage.cast.north
    outline = square(land.longitude, land.latitude, 0.001)
    fields = {"kind": "hazard", "name": "Pit", "geometry": outline}
    return partial(create_feature, land=land, fields=fields, **by_system)


def _inspection(stage: Stage) -> Write:
    found = {"inspected_on": NOW.date(), "inspected_by": "Max", "passed": False, "notes": ""}
    return partial(record_inspection, stand=stage.oak, **found, **by_system)


def _due(stage: Stage) -> Write:
    fields = {"season_year": 2025, "amount": 450, "due_on": DAY - timedelta(days=1)}
    return partial(create_due, person=stage.ben, fields=fields, **by_system)


def _work(stage: Stage) -> Write:
    fields = {"worked_on": date(2025, 9, 6), "hours": 6, "what": "Mowed lanes"}
    land = stage.cast.north
    return partial(record_work_day, land=land, person=stage.ben, fields=fields, **by_system)


def _role(stage: Stage) -> Write:
    whole = {"cooperative": stage.cast.cooperative, "land": None}
    return partial(grant_role, person=stage.ben, role=Role.COORDINATOR, **whole, **by_system)


def _waiting(stage: Stage) -> Write:
    booked(stage, stand=stage.creek)
    return partial(waits, stage, stage.ben)


def _closure(stage: Stage) -> Write:
    days = {"first_on": DAY, "last_on": DAY}
    return partial(close_property, land=stage.cast.north, reason="Logging", **days, **by_system)


def _cooperative(stage: Stage) -> Write:
    changes = {"settings": {"house_rules": {"rest_days": 9}}}
    one = stage.cast.cooperative
    return partial(change_cooperative, cooperative=one, changes=changes, **by_system)


def _property(stage: Stage) -> Write:
    changes = {"settings": {"house_rules": {"book_ahead_days": 1}}}
    return partial(change_property, land=stage.cast.north, changes=changes, **by_system)


def _member(stage: Stage) -> Write:
    changes = {"joined_on": DAY}
    return partial(change_member, member=stage.ben.member, changes=changes, **by_system)


def _outfitter(stage: Stage) -> Write:
    one = stage.cast.outfitter
    return partial(change_outfitter, outfitter=one, changes={"name": "Other"}, **by_system)


def _paper(stage: Stage) -> Write:
    fields = {"kind": "orientation", "expires_on": DAY}
    return partial(create_paper, person=stage.ben, fields=fields, **by_system)


def _person(stage: Stage) -> Write:
    return partial(change_person, person=stage.ben, changes={"name": "Ben Other"}, **by_system)


def _regulation(stage: Stage) -> Write:
    return partial(entered, stage.cast, "weekly_closed_days", {"weekdays": [6]})


def _season(stage: Stage) -> Write:
    season = Season.objects.get(property=stage.cast.north)
    return partial(delete_season, season=season, **by_system)


def _exclusion(stage: Stage) -> Write:
    pair = {"first": stage.oak, "second": stage.creek}
    return partial(exclude, reason="Line of fire", **pair, **by_system)


WRITES: dict[str, Prepare] = {
    "properties_closure": _closure,
    "properties_condition": lambda stage: partial(told, stage),
    "properties_cooperative": _cooperative,
    "properties_due": _due,
    "properties_feature": _feature,
    "properties_inspection": _inspection,
    "properties_lease": lambda stage: partial(leased, stage.cast),
    "properties_member": _member,
    "properties_outfitter": _outfitter,
    "properties_paper": _paper,
    "properties_person": _person,
    "properties_property": _property,
    "properties_propertyshare": lambda stage: partial(
        revoke_share, share=PropertyShare.objects.get(), **by_system
    ),
    "properties_regulation": _regulation,
    "properties_rolegrant": _role,
    "properties_season": _season,
    "properties_sessionfit": _fits,
    "properties_stand": lambda stage: partial(
        close_stand, stand=stage.oak, reason="Rotten rung", **by_system
    ),
    "properties_standexclusion": _exclusion,
    "properties_workday": _work,
    "properties_youthrecord": lambda stage: partial(
        create_youth, person=stage.ben, fields={"youth_until": DAY}, **by_system
    ),
    "scheduling_client": _client,
    "scheduling_seatclaim": lambda stage: partial(
        cancel_sit, sit=booked(stage), reason="", **by_system
    ),
    "scheduling_sit": lambda stage: partial(booked, stage),
    "scheduling_sitreport": _report,
    "scheduling_waitingentry": _waiting,
}
"""By table: what is to be there before, and then the write."""

NOT_JUDGED_BY = {
    "coop_application": "who asks is read for each request, and is part of the key",
    "coop_personaltoken": "as above",
    "coop_user": "as above",
    "oauth2_provider_accesstoken": "as above",
    "scheduling_change": "the number itself",
    "scheduling_changecount": "the number itself",
}
"""Tables that an asking reads and no judgement does, with the reason."""
