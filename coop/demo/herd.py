"""Invented deer: what the cameras saw, drawn from each scrape's rate and the season's curve.

Pure: a ground plan in, rows of pictures out, in seconds from today's local midnight. The draws
do not depend on the date, so the same stories are told on any today.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np

from coop.demo import scenario
from coop.demo.layout import CameraPlan, DeploymentPlan, GroundPlan, ScrapePlan
from scrapes.visits.season_curve import relative_use
from scrapes.visits.settings import SeasonSettings

DAY_S = 86_400
DEER = "Odocoileus virginianus"
_OTHERS = ("Procyon lotor", "Sciurus niger", "Meleagris gallopavo")
_SECOND_CAMERA_SEES = 0.8
_DISPERSION_SHAPE = 8.0
"""Nights differ by a gamma factor of this shape: a little more than pure chance."""
_STRAY_KINDS = (("blank", 0.8), ("animal", 0.5), ("human", 0.06))
_UNTAGGED_SHARE = 0.01


@dataclass(frozen=True, kw_only=True)
class Picture:
    """One picture: ``event`` numbers the pictures of one stay; texts are empty where unknown."""

    code: str
    event: int
    at_s: int
    kind: str
    species: str = ""
    count: int | None = None
    sex: str = ""
    life_stage: str = ""
    individual: str = ""


def pictures_of(ground: GroundPlan, *, seed: int) -> list[Picture]:
    """Everything the cameras of a property delivered until today's midnight, in order of time."""
    found: list[Picture] = []
    events = 0
    for scrape in ground.scrapes:
        rng = np.random.default_rng([seed, crc32(scrape.name.encode())])
        watching = [
            (camera, hung)
            for camera in ground.cameras
            for hung in camera.deployments
            if hung.scrape == scrape.name
        ]
        stays = [*_stays(scrape, rng), *_strays(rng)]
        for stay in stays:
            events += 1
            for order, (camera, hung) in enumerate(watching):
                if not _saw(camera, hung, stay[0].at_s):
                    continue
                if order and rng.random() > _SECOND_CAMERA_SEES:
                    continue
                found += [_taken_by(picture, hung.code, events) for picture in stay]
    return sorted(found, key=lambda picture: (picture.at_s, picture.code))


def _stays(scrape: ScrapePlan, rng: np.random.Generator) -> Iterator[Sequence[Picture]]:
    """Deer at one scrape, stay by stay."""
    bucks = [
        f"{scrape.name.split()[0]} {mark}" for mark in ("tall eight", "split brow", "young six")
    ]
    for day in range(-scenario.RECORD_DAYS, 0):
        turned = bool(scrape.turns_days_ago) and day >= -scrape.turns_days_ago
        season = float(relative_use(day - scenario.PEAK_IN_DAYS, settings=SeasonSettings()))
        rate = scrape.visits_per_night * season * (scrape.rate_then if turned else 1.0)
        nightly = rate * rng.gamma(_DISPERSION_SHAPE, 1 / _DISPERSION_SHAPE)
        daylight = scrape.daylight_share
        if turned and scrape.daylight_then is not None:
            daylight = scrape.daylight_then
        for _ in range(rng.poisson(nightly)):
            yield _stay(day, daylight, bucks, rng)


def _stay(
    day: int, daylight_share: float, bucks: Sequence[str], rng: np.random.Generator
) -> Sequence[Picture]:
    start = day * DAY_S + round(3_600 * _hour(daylight_share, rng))
    if rng.random() < _UNTAGGED_SHARE:
        return [Picture(code="", event=0, at_s=start, kind="unclassified")]
    is_buck = bool(rng.random() < 0.55)
    known = is_buck and bool(rng.random() < 0.35)
    count = 1 if is_buck else int(rng.integers(1, 4))
    return [
        Picture(
            code="",
            event=0,
            at_s=start + 45 * number,
            kind="animal",
            species=DEER,
            count=count,
            sex="male" if is_buck else "female",
            life_stage="adult" if rng.random() < 0.7 else "subadult",
            individual=str(rng.choice(bucks)) if known else "",
        )
        for number in range(int(rng.integers(1, 4)))
    ]


def _hour(daylight_share: float, rng: np.random.Generator) -> float:
    """Hour of the local day: in light, or in dark, at any time of the year."""
    if rng.random() < daylight_share:
        middle = 8.2 if rng.random() < 0.5 else 15.8
        return float(np.clip(rng.normal(middle, 0.5), 7.6, 16.4))
    return float((21.8 + 6.2 * rng.random()) % 24)


def _strays(rng: np.random.Generator) -> Iterator[Sequence[Picture]]:
    """What else sets a camera off: wind, other animals, people."""
    for day in range(-scenario.RECORD_DAYS, 0):
        for kind, a_day in _STRAY_KINDS:
            for _ in range(rng.poisson(a_day)):
                at_s = day * DAY_S + int(rng.integers(0, DAY_S))
                species = str(rng.choice(_OTHERS)) if kind == "animal" else ""
                yield [Picture(code="", event=0, at_s=at_s, kind=kind, species=species)]


def _saw(camera: CameraPlan, hung: DeploymentPlan, at_s: int) -> bool:
    """Whether a camera hung, worked, and its pictures have reached anybody."""
    first = -hung.from_days_ago * DAY_S + 12 * 3_600
    last = known_until_s(camera, hung)
    if not first <= at_s < last:
        return False
    return not any(
        -out.from_days_ago * DAY_S <= at_s < -out.until_days_ago * DAY_S
        for out in camera.outages
        if out.code == hung.code
    )


def known_until_s(camera: CameraPlan, hung: DeploymentPlan) -> int:
    """Until when the deployment's pictures are known, in seconds from today's midnight."""
    last = 0
    if hung.until_days_ago is not None:
        last = -hung.until_days_ago * DAY_S + 12 * 3_600
    if camera.died_days_ago is not None:
        last = min(last, -camera.died_days_ago * DAY_S)
    if not camera.transmits:
        last = min(last, -min(camera.pulled_days_ago) * DAY_S + 12 * 3_600)
    return last


def _taken_by(picture: Picture, code: str, event: int) -> Picture:
    return Picture(
        code=code,
        event=event,
        at_s=picture.at_s,
        kind=picture.kind,
        species=picture.species,
        count=picture.count,
        sex=picture.sex,
        life_stage=picture.life_stage,
        individual=picture.individual,
    )
