"""One object of every kind on a property, for the table of endpoints and callers.

``OBJECTS`` names for each route's basename how its object is made. A new endpoint without an
entry fails the table, with a message that says what to add here.
"""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.db import models

from coop.audit.models import AuditEvent
from coop.jobs.models import JobRun
from coop.outbox.models import Message
from coop.reports.models import LandNote, MonthlyReport
from properties.land.models import Closure, Feature, Property
from properties.people.models import Member as Membership
from properties.people.models import Outfitter, Paper, Person, PropertyShare, RoleGrant
from properties.sessions.models import Season
from properties.stands.models import Inspection, Stand, StandExclusion
from properties.wind.models import (
    FitCalibration,
    ForecastIssue,
    SessionFit,
    StandWind,
    WindHistory,
)
from scheduling.errands.models import Errand
from scheduling.rotation.models import PlanState, RotationPlan
from scheduling.sits.models import Harvest, HarvestPlan, Sit, SitReport, SitRequest
from scrapes.cameras.models import (
    CameraUnit,
    Deployment,
    ObservationImport,
    ObservationSource,
    Outage,
)
from scrapes.care.models import ScentApplication, ScrapeReview
from scrapes.sites.models import Scrape
from tests.cast import make_member, make_stand

WHEN = datetime(2025, 11, 1, 12, tzinfo=UTC)
DAY = date(2025, 11, 8)


def feature(land: Property) -> Feature:
    return Feature.objects.create(
        property=land,
        kind="bedding",
        name="Bench",
        geometry={"type": "Point", "coordinates": [land.longitude, land.latitude]},
        west=land.longitude,
        south=land.latitude,
        east=land.longitude,
        north=land.latitude,
    )


def stand(land: Property) -> Stand:
    return Stand.objects.filter(property=land).first() or make_stand(land, "Oak")


def scrape(land: Property) -> Scrape:
    found = Scrape.objects.filter(property=land).first()
    return found or Scrape.objects.create(
        property=land,
        name="Bench scrape",
        kind="mock",
        longitude=land.longitude,
        latitude=land.latitude,
    )


def camera(land: Property) -> CameraUnit:
    found = CameraUnit.objects.filter(property=land).first()
    return found or CameraUnit.objects.create(property=land, name="C-1")


def deployment(land: Property) -> Deployment:
    found = Deployment.objects.filter(scrape__property=land).first()
    return found or Deployment.objects.create(
        camera=camera(land),
        scrape=scrape(land),
        code=f"d-{land.id}",
        starts_at=WHEN,
        longitude=land.longitude,
        latitude=land.latitude,
    )


def somebody(land: Property) -> Person:
    """A member of this property alone, who is nobody of the cast."""
    name = f"Someone Of {land.name}"
    found = Person.objects.filter(cooperative=land.cooperative, name=name).first()
    return found or make_member(land.cooperative, name, land)


def sit(land: Property) -> Sit:
    found = Sit.objects.filter(property=land).first()
    return found or Sit.objects.create(
        property=land,
        stand=stand(land),
        person=somebody(land),
        local_date=DAY,
        span="evening",
        starts_at=WHEN + timedelta(days=7),
        ends_at=WHEN + timedelta(days=7, hours=4),
    )


def exclusion(land: Property) -> StandExclusion:
    first, second = sorted([stand(land), make_stand(land, "Creek")], key=lambda one: one.id)
    return StandExclusion.objects.create(first=first, second=second, reason="Too near.")


def outfitter(land: Property) -> Outfitter:
    found = Outfitter.objects.filter(shares__property=land).first()
    if found is None:
        found = Outfitter.objects.create(cooperative=land.cooperative, name=f"Of {land.name}")
        PropertyShare.objects.create(outfitter=found, property=land)
    return found


def plan(land: Property) -> RotationPlan:
    made = RotationPlan.objects.create(
        cooperative=land.cooperative,
        first_on=DAY,
        last_on=DAY,
        state=PlanState.PUBLISHED,
        fingerprint="x",
        problem={},
        result={
            "status": "proven",
            "seconds": 0,
            "seed": 1,
            "requested": 0,
            "levels": [],
            "booking_conflicts": [],
        },
        computed_at=WHEN,
        published_at=WHEN,
    )
    made.properties.add(land)
    return made


def audit_event(land: Property) -> AuditEvent:
    return AuditEvent.objects.create(
        recorded_at=WHEN,
        actor_kind="system",
        action="x",
        object_kind="x",
        object_id="x",
        property_id=land.id,
    )


NO_SESSIONS: dict[str, Any] = {
    "sessions": 0,
    "observed_sessions": 0,
    "unobserved_sessions": 0,
    "sectors": [],
    "stands": [],
    "gaps": [],
    "speed_edges_mps": [],
}


OBJECTS: dict[str, Callable[[Property], Any]] = {
    "audit-event": audit_event,
    "camera": camera,
    "closure": lambda land: Closure.objects.create(
        property=land, first_on=DAY, last_on=DAY, reason="Logging"
    ),
    "cooperative": lambda land: land.cooperative,
    "deployment": deployment,
    "errand": lambda land: Errand.objects.create(
        property=land, kind="trim", thing_id=stand(land).id, stand=stand(land), due_on=DAY
    ),
    "feature": feature,
    "fit": lambda land: SessionFit.objects.create(
        property=land,
        stand=stand(land),
        local_date=DAY,
        kind="evening",
        fingerprint="x",
        computed_at=WHEN,
        verdict="unknown",
    ),
    "fit-calibration": lambda land: FitCalibration.objects.create(
        property=land, **_required(FitCalibration)
    ),
    "forecast": lambda land: ForecastIssue.objects.create(
        property=land,
        source="x",
        issued_at=WHEN,
        received_at=WHEN,
        fingerprint="x",
        first_hour_at=WHEN,
        last_hour_at=WHEN,
        hours={"starts_at": []},
    ),
    "guest": lambda land: Person.objects.create(
        cooperative=land.cooperative, name="Gus", host=somebody(land)
    ),
    "harvest": lambda land: Harvest.objects.create(
        property=land, person=somebody(land), harvest_class="antlerless", taken_at=WHEN
    ),
    "harvest-plan": lambda land: HarvestPlan.objects.create(
        property=land, season_year=2025, harvest_class="antlered", planned=2
    ),
    "inspection": lambda land: Inspection.objects.create(
        stand=stand(land), inspected_on=DAY, inspected_by="Max", passed=True
    ),
    "job": lambda land: JobRun.objects.create(name="x", property_id=land.id, due_at=WHEN),
    "land-note": lambda land: LandNote.objects.create(property=land, **_required(LandNote)),
    "member": lambda land: Membership.objects.get(person=somebody(land)),
    "message": lambda land: Message.objects.create(
        once_key=f"k-{land.id}",
        recipient="a@example.org",
        subject="s",
        text="t",
        due_at=WHEN,
        cooperative_id=land.cooperative_id,
    ),
    "observation-import": lambda land: ObservationImport.objects.create(
        property=land,
        source="csv",
        file_name="x",
        digest="x",
        imported_at=WHEN,
        rows_read=0,
        rows_taken=0,
    ),
    "observation-source": lambda land: ObservationSource.objects.create(
        property=land, **_required(ObservationSource)
    ),
    "outage": lambda land: Outage.objects.create(
        deployment=deployment(land), kind="dead", starts_at=WHEN
    ),
    "outfitter": outfitter,
    "paper": lambda land: Paper.objects.get(person=somebody(land), kind="licence"),
    "person": somebody,
    "property": lambda land: land,
    "report": lambda land: MonthlyReport.objects.create(
        property=land,
        month=date(2025, 10, 1),
        figures={"appendix": {}, "incidents": {"notes": []}},
        pdf=b"%PDF",
        appendix_html="<p>",
        html="<p>",
        data_cut_off_at=WHEN,
        digest="x",
    ),
    "role": lambda land: RoleGrant.objects.get(person=somebody(land), property=land),
    "rotation-plan": plan,
    "scent-application": lambda land: ScentApplication.objects.create(
        scrape=scrape(land), applied_at=WHEN, scent="x"
    ),
    "scrape": scrape,
    "scrape-review": lambda land: ScrapeReview.objects.create(
        scrape=scrape(land), reviewed_on=DAY, verdict="steady", sentence="Steady."
    ),
    "season": lambda land: Season.objects.create(
        property=land, name="Bow", first_on=DAY, last_on=DAY, weapons=["bow"]
    ),
    "share": lambda land: PropertyShare.objects.get(outfitter=outfitter(land), property=land),
    "sit": sit,
    "sit-report": lambda land: SitReport.objects.create(sit=sit(land), reported_at=WHEN),
    "sit-request": lambda land: SitRequest.objects.create(
        property=land, person=somebody(land), first_on=DAY, last_on=DAY, wanted_sits=1
    ),
    "stand": stand,
    "stand-exclusion": exclusion,
    "stand-wind": lambda land: StandWind.objects.create(
        property=land,
        stand=stand(land),
        **{
            **_required(StandWind),
            "offset_deg": [0.0] * 8,
            "spread_deg": [8.0] * 8,
            "counts": [0] * 8,
        },
    ),
    "visit": scrape,
    "wind-history": lambda land: WindHistory.objects.create(
        property=land,
        season_year=2025,
        first_on=DAY,
        last_on=DAY,
        computed_at=WHEN,
        fingerprint="x",
        result=NO_SESSIONS,
    ),
}

ALIASES = {"property-map": "property", "property-sessions": "property"}
"""Basenames whose routes hang on another kind of object."""


def _required(model: Any) -> dict[str, Any]:
    """Plain values for a model's columns that have no default; references are given apart."""
    values: dict[str, Any] = {}
    for field in model._meta.concrete_fields:
        if field.has_default() or field.null or field.is_relation or field.auto_created:
            continue
        if getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False):
            continue
        if isinstance(field, models.DateTimeField):
            values[field.name] = WHEN
        elif isinstance(field, models.DateField):
            values[field.name] = DAY
        elif isinstance(field, models.JSONField):
            values[field.name] = {}
        elif isinstance(field, models.BooleanField):
            values[field.name] = True
        elif isinstance(field, models.IntegerField | models.FloatField):
            values[field.name] = 1
        elif isinstance(field, models.CharField):
            values[field.name] = field.choices[0][0] if field.choices else "x"
    return values
