"""Hang the invented cameras, with their outages and what they reported of themselves."""

from datetime import timedelta

from django.db import transaction

from coop.demo.build import Built, builder, scrapes_by_name
from coop.demo.ground import GROUNDS
from coop.demo.ground_geometry import Draughtsman
from coop.demo.herd import known_until_s
from coop.demo.layout import CameraPlan, GroundPlan
from coop.demo.scenario import Calendar
from scrapes.cameras.deployment_services import hang_camera
from scrapes.cameras.models import CameraStatus, CameraUnit
from scrapes.cameras.services import create_camera, record_outage
from scrapes.sites.models import Scrape

_CARD_USED_PCT = 22.0
_BATTERY_LOSS_A_DAY = 0.22
_DYING_LOSS_A_DAY = 3.1
_DYING_DAYS = 28


@transaction.atomic
def hang_cameras(built: Built, calendar: Calendar) -> None:
    """All units of all properties; what each reported until today's midnight."""
    scrapes = scrapes_by_name(built)
    for ground in GROUNDS:
        for plan in ground.cameras:
            _hang(built, ground, plan, scrapes, calendar)


def _hang(
    built: Built,
    ground: GroundPlan,
    plan: CameraPlan,
    scrapes: dict[str, Scrape],
    calendar: Calendar,
) -> None:
    land, drawn = built.land_of(ground), Draughtsman(ground)
    camera = create_camera(
        actor=builder(),
        land=land,
        fields={"name": plan.name, "transmits": plan.transmits, "notes": plan.notes},
        now=calendar.now,
    )
    places = {scrape.name: scrape.at for scrape in ground.scrapes}
    for hung in plan.deployments:
        east, north = places[hung.scrape]
        until = hung.until_days_ago
        deployment = hang_camera(
            actor=builder(),
            camera=camera,
            scrape=scrapes[hung.scrape],
            fields={
                "code": hung.code,
                "starts_at": calendar.midnight + timedelta(days=-hung.from_days_ago, hours=12),
                "ends_at": None
                if until is None
                else calendar.midnight + timedelta(days=-until, hours=12),
                "geometry": drawn.point((east + 3.0, north + 3.0)),
                "heading_deg": 225.0,
                "height_m": 1.2,
            },
            now=calendar.now,
        )
        for outage in plan.outages:
            record_outage(
                actor=builder(),
                deployment=deployment,
                fields={
                    "kind": outage.kind,
                    "starts_at": calendar.midnight - timedelta(days=outage.from_days_ago),
                    "ends_at": calendar.midnight - timedelta(days=outage.until_days_ago),
                    "estimated": True,
                    "notes": outage.notes,
                },
                now=calendar.now,
            )
    CameraStatus.objects.bulk_create(_statuses(camera, plan, calendar))


def _statuses(camera: CameraUnit, plan: CameraPlan, calendar: Calendar) -> list[CameraStatus]:
    """A heartbeat a day of a camera that sends; of the others, what was read at the card."""
    hung = plan.deployments[-1]
    first = plan.deployments[0].from_days_ago
    if plan.transmits:
        until = calendar.midnight + timedelta(seconds=known_until_s(plan, hung))
        instants = [calendar.midnight + timedelta(days=day, hours=6) for day in range(-first, 1)]
        days = [at for at in instants if at < until]
    else:
        days = [calendar.midnight + timedelta(days=-ago, hours=12) for ago in plan.pulled_days_ago]
    return [
        CameraStatus(
            camera=camera,
            reported_at=at,
            card_pulled=not plan.transmits,
            battery_pct=_battery(plan, (at - calendar.midnight) / timedelta(days=1) + first),
            card_used_pct=_CARD_USED_PCT,
        )
        for at in days
    ]


def _battery(plan: CameraPlan, days_hung: float) -> float:
    charge = 98.0 - _BATTERY_LOSS_A_DAY * days_hung
    if plan.died_days_ago is not None:
        hung_days = plan.deployments[-1].from_days_ago
        dying_for = days_hung - (hung_days - plan.died_days_ago - _DYING_DAYS)
        charge -= _DYING_LOSS_A_DAY * max(0.0, dying_for)
    return round(max(charge, 4.0), 1)
