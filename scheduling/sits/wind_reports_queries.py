"""What reported sits tell of wind and fit, for the room that learns from them."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any

from properties.land.models import Property
from properties.sessions.kinds import SessionKind
from properties.wind.evidence import SitOutcome, WindReport
from scheduling.sits.models import AlarmSense, DeerAlarm, Sit, SitReport, SitSpan

QUARTERS = 4


def wind_reports(land: Property) -> Iterator[WindReport]:
    """Wind felt in each quarter of each reported sit; of a sit told as a whole, at its middle.

    Still air has no direction and tells nothing.
    """
    rows = SitReport.objects.filter(sit__property=land).select_related("sit")
    for report in rows.order_by("reported_at", "id"):
        for felt_at, from_deg in _felt(report):
            yield WindReport(
                sit_id=report.sit_id,
                stand_id=report.sit.stand_id,
                felt_at=felt_at,
                from_deg=from_deg,
            )


def sit_outcomes(land: Property) -> Iterator[SitOutcome]:
    """Forecast and outcome of each reported sit."""
    rows = SitReport.objects.filter(sit__property=land).select_related("sit")
    for report in rows.prefetch_related("alarms").order_by("reported_at", "id"):
        sit, alarms = report.sit, list(report.alarms.all())
        yield SitOutcome(
            sit_id=sit.id,
            stand_id=sit.stand_id,
            local_date=sit.local_date,
            kind=None if sit.span == SitSpan.ALL_DAY else SessionKind(sit.span),
            fit=sit.fit,
            issue_id=sit.issue_id,
            winded=_deer(alarms, [AlarmSense.WINDED]),
            alarmed=_deer(alarms, AlarmSense.values),
        )


def _felt(report: SitReport) -> Iterator[tuple[datetime, float]]:
    begin, end = _times(report.sit)
    quarters: list[dict[str, Any]] = report.wind_felt_quarters
    for quarter in quarters:
        if quarter["speed_mps"]:
            share = (quarter["quarter"] - 0.5) / QUARTERS
            yield begin + share * (end - begin), float(quarter["from_deg"])
    if not quarters and report.wind_felt_from_deg is not None and report.wind_felt_speed_mps != 0:
        yield begin + (end - begin) / 2, report.wind_felt_from_deg


def _times(sit: Sit) -> tuple[datetime, datetime]:
    """From sitting down to leaving as told; as booked where it was not told."""
    begin, end = sit.checked_in_at or sit.starts_at, sit.checked_out_at or sit.ends_at
    return begin, max(begin, end)


def _deer(alarms: Iterable[DeerAlarm], senses: Sequence[str]) -> int:
    return sum(alarm.count for alarm in alarms if alarm.sense in senses)
