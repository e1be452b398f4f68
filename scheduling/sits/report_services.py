"""Report a sit: what was seen, felt, shot and taken, and what is wrong with the stand."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor, system_actor
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import writing
from coop.outbox import services as outbox
from properties.stands.services import close_stand
from properties.wind.circular import mean_wind
from properties.wind.sectors import sector_of
from scheduling.sits import notices
from scheduling.sits.harvest_services import add_harvest
from scheduling.sits.life_services import locked_own, sector_observed
from scheduling.sits.models import DeerAlarm, Sighting, Sit, SitReport, SitState

SIT_REPORTED = "sit.reported"
REPORT_CORRECTED = "sit_report.corrected"
UNSAFE_STAND_CLOSER = "unsafe stand"

_WHY_NOT = {
    SitState.BOOKED: "has not been checked in; check in and out with the true times first",
    SitState.CHECKED_IN: "has not been checked out; check out first",
    SitState.REPORTED: "has been reported already",
    SitState.CANCELLED: "was cancelled",
    SitState.MISSED: "is marked as missed",
}


@transaction.atomic
def report_sit(
    *,
    actor: Actor,
    sit: Sit,
    fields: Mapping[str, Any],
    now: datetime,
    sightings: Sequence[Mapping[str, Any]] = (),
    alarms: Sequence[Mapping[str, Any]] = (),
    harvests: Sequence[Mapping[str, Any]] = (),
) -> SitReport:
    """Keep the report of a sit that was checked out; raises :class:`WrongOrder`.

    A stand reported unsafe is closed at once; the fact of its closing cancels its coming
    sits. Deer taken are recorded against the property's plan.
    """
    sit = locked_own(actor, sit)
    if sit.state != SitState.CHECKED_OUT:
        raise WrongOrder(f"This sit {_WHY_NOT[SitState(sit.state)]}.")
    report = _write_report(actor, sit, fields, alarms, now)
    _write_rows(report, sightings=sightings, alarms=alarms)
    changes = {
        "state": SitState.REPORTED,
        "observed_sector": _sector(sit, report, unless_felt=sit.observed_sector),
    }
    writing.change(
        sit, changes, actor=actor, action=Action.SIT_BOOK, now=now, property_id=sit.property_id
    )
    for harvest in harvests:
        add_harvest(
            actor=actor,
            land=sit.property,
            person=sit.person,
            sit=sit,
            fields={"taken_at": sit.checked_out_at, **harvest},
            now=now,
        )
    if report.stand_unsafe:
        _close_unsafe(sit, report, now)
    ids = {"sit": sit.id, "report": report.id, "property": sit.property_id, "stand": sit.stand_id}
    outbox.publish(topic=SIT_REPORTED, ids=ids, now=now)
    return report


@transaction.atomic
def correct_report(
    *,
    actor: Actor,
    report: SitReport,
    changes: Mapping[str, Any],
    now: datetime,
    sightings: Sequence[Mapping[str, Any]] | None = None,
    alarms: Sequence[Mapping[str, Any]] | None = None,
) -> SitReport:
    """Correct a report, for whoever may write it; sightings and alarms, where given, as a whole.

    What is counted by it (rest, figures, what is learned of the wind) is counted anew. A stand
    that is now called unsafe closes; one that is no longer stays closed until somebody has
    inspected it. Deer taken are corrected where they are recorded.
    """
    sit = locked_own(actor, report.sit)
    columns = _columns_corrected(report, changes)
    if alarms is not None:
        columns["deer_alarmed"] = _alarmed(alarms)
    turns_unsafe = bool(columns.get("stand_unsafe")) and not report.stand_unsafe
    report = writing.change(
        report,
        columns,
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=sit.property_id,
        reason=_replaced(report, sightings=sightings, alarms=alarms),
    )
    if sightings is not None:
        report.sightings.all().delete()
    if alarms is not None:
        report.alarms.all().delete()
    _write_rows(report, sightings=sightings or (), alarms=alarms or ())
    # Also where nothing of it is another: whoever keeps a copy of the sit is told.
    observed = {"observed_sector": _sector(sit, report, unless_felt=None)}
    writing.change(
        sit, observed, actor=actor, action=Action.SIT_BOOK, now=now, property_id=sit.property_id
    )
    if turns_unsafe:
        _close_unsafe(sit, report, now)
    ids = {"sit": sit.id, "report": report.id, "property": sit.property_id, "stand": sit.stand_id}
    outbox.publish(topic=REPORT_CORRECTED, ids=ids, now=now)
    return report


def _write_report(
    actor: Actor,
    sit: Sit,
    fields: Mapping[str, Any],
    alarms: Sequence[Mapping[str, Any]],
    now: datetime,
) -> SitReport:
    report = SitReport(sit=sit, reported_at=now, deer_alarmed=_alarmed(alarms), **_columns(fields))
    return writing.create(
        report, actor=actor, action=Action.SIT_BOOK, now=now, property_id=sit.property_id
    )


def _replaced(
    report: SitReport,
    *,
    sightings: Sequence[Mapping[str, Any]] | None,
    alarms: Sequence[Mapping[str, Any]] | None,
) -> str:
    """What stood where other rows stand now, for the record, which has the columns alone."""
    seen = [] if sightings is None else report.sightings.order_by("id")
    noticed = [] if alarms is None else report.alarms.order_by("id")
    told = [f"{row.count} seen ({row.sex}, {row.age_class})" for row in seen]
    told += [f"{row.count} alarmed ({row.sense})" for row in noticed]
    return f"Stood before: {'; '.join(told)}." if told else ""


def _alarmed(alarms: Sequence[Mapping[str, Any]]) -> int:
    return sum(alarm["count"] for alarm in alarms)


def _columns(fields: Mapping[str, Any]) -> dict[str, Any]:
    """The fields, with the mean of the quarters where no wind of the whole sit is told."""
    columns = dict(fields)
    quarters = columns.get("wind_felt_quarters", [])
    if len({quarter["quarter"] for quarter in quarters}) < len(quarters):
        raise ValidationError({"wind_felt_quarters": "Each quarter is named once."})
    if quarters and columns.get("wind_felt_from_deg") is None:
        columns |= _mean_of_quarters(quarters)
    return columns


def _columns_corrected(report: SitReport, changes: Mapping[str, Any]) -> dict[str, Any]:
    """As :func:`_columns`, of the report as the changes leave it: a wind of the whole sit that
    was told stays, one that was but the mean of the quarters follows them."""
    wind = {name: getattr(report, name) for name in ("wind_felt_from_deg", "wind_felt_speed_mps")}
    quarters = report.wind_felt_quarters
    if "wind_felt_quarters" in changes and quarters and wind == _mean_of_quarters(quarters):
        wind = dict.fromkeys(wind)
    return _columns({"wind_felt_quarters": quarters, **wind, **changes})


def _mean_of_quarters(quarters: Sequence[Mapping[str, Any]]) -> dict[str, float | None]:
    """The mean wind vector of the quarters; no direction where they cancel out."""
    speed_mps, from_deg, _steadiness = mean_wind(
        [quarter["speed_mps"] for quarter in quarters],
        [quarter["from_deg"] for quarter in quarters],
    )
    return {"wind_felt_from_deg": from_deg, "wind_felt_speed_mps": speed_mps}


def _write_rows(
    report: SitReport,
    *,
    sightings: Sequence[Mapping[str, Any]],
    alarms: Sequence[Mapping[str, Any]],
) -> None:
    for sighting in sightings:
        row = Sighting(report=report, **sighting)
        row.full_clean()
        row.save(force_insert=True)
    for alarm in alarms:
        noticed = DeerAlarm(report=report, **alarm)
        noticed.full_clean()
        noticed.save(force_insert=True)


def _sector(sit: Sit, report: SitReport, *, unless_felt: int | None) -> int | None:
    """Observed on the property if it was; else as the hunter felt it, if they did."""
    observed = sector_observed(sit, until=sit.checked_out_at or sit.ends_at)
    if observed is not None:
        return observed
    if report.wind_felt_from_deg is None or not report.wind_felt_speed_mps:
        return unless_felt
    return int(sector_of(report.wind_felt_from_deg))


def _close_unsafe(sit: Sit, report: SitReport, now: datetime) -> None:
    what = report.stand_condition or "no details were given"
    close_stand(
        actor=system_actor(UNSAFE_STAND_CLOSER),
        stand=sit.stand,
        reason=f"Reported unsafe after a sit: {what}"[:300],
        now=now,
    )
    notices.tell_managers(
        property_id=sit.property_id,
        cooperative_id=sit.property.cooperative_id,
        once_key=f"stand-unsafe:{report.id}",
        subject=f"{sit.stand.name} was reported unsafe and is closed",
        text=(
            f"{sit.person.name} reported {sit.stand.name} on {sit.property.name} as unsafe: "
            f"{what}.\n\nIt is closed, and its coming sits are being cancelled. It stays closed "
            "until somebody has inspected it and opens it again."
        ),
        now=now,
        urgent=True,
    )
