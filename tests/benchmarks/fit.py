"""How fast fits are computed, against a bare evaluation of the plume in the same run.

A plume point is one chance that the fit needs: one nose, one source (or one draw of a
walk), one hour and one node of the session's error. What the model does inside a point
(wandering, the route's sources within a draw, the dose response) is not counted, so that
the bare evaluation is as small as it can fairly be: the reflected plume, once a point.

Run with OPENBLAS_NUM_THREADS=1, as workers should be: the products are many and small, and
threads that wait for one another on a busy machine cost far more than they bring.
"""

import time
import tracemalloc
from collections.abc import Iterator

import numpy as np

from properties.sessions.kinds import SessionKind
from properties.wind.air import forecast_hours
from properties.wind.dispersion import relative_concentration
from properties.wind.features import feature_points
from properties.wind.fit import SessionAir, stand_fits
from properties.wind.places import Behaviour, Receptor, StandPlace, line_points, polygon_points
from properties.wind.settings import WindSettings
from properties.wind.walking import draws_of

STANDS, SESSIONS, HOURS = 12, 28, 4
SETTINGS = WindSettings()
Row = tuple[str, float, str, float | None]


def rows(only: str = "") -> Iterator[Row]:
    """Name, value, unit and goal (at most for the ratio and memory, none for the rate)."""
    stands, receptors, sessions = _property(np.random.default_rng(3))
    given = {
        "stands": stands,
        "receptors": receptors,
        "sessions": sessions,
        "settings": SETTINGS,
    }
    stand_fits(**(given | {"stands": stands[:1]}))
    fit_seconds = min(_seconds(lambda: stand_fits(**given)) for _ in range(3))
    points = _plume_points(stands, receptors)
    bare_seconds = min(_seconds(lambda: _bare_plume(points)) for _ in range(3))
    tracemalloc.start()
    stand_fits(**(given | {"stands": stands[:3]}))
    peak = tracemalloc.get_traced_memory()[1] / 2**20
    tracemalloc.stop()
    yield "fit_ratio", fit_seconds / bare_seconds, "fit over bare plume", 2.0
    yield "fit_stand_hours_per_s", STANDS * SESSIONS * HOURS / fit_seconds, "stand-hours/s", None
    yield "fit_peak_mib", peak, "MiB", 1024.0


def _seconds(work: object) -> float:
    start = time.perf_counter()
    work()  # type: ignore[operator]
    return time.perf_counter() - start


def _property(
    random: np.random.Generator,
) -> tuple[list[StandPlace], list[Receptor], list[SessionAir]]:
    stands = []
    for number in range(STANDS):
        place = random.uniform(-800, 800, 2)
        route = np.array([place + random.uniform(-500, 500, 2), place])
        stands.append(
            StandPlace(
                position=place,
                elevated=number % 3 > 0,
                seat_height_m=6.0 if number % 3 else 1.0,
                slope_aspect_deg=90.0,
                slope_deg=8.0,
                approach=route,
                exit=route[::-1],
            )
        )
    return stands, _receptors(random), [_session(random, number) for number in range(SESSIONS)]


def _receptors(random: np.random.Generator) -> list[Receptor]:
    receptors = []
    for number in range(8):
        corner = random.uniform(-800, 800, 2)
        ring = corner + np.array([[0, 0], [120, 0], [120, 90], [0, 90]])
        points = polygon_points(ring, spacing_m=20.0)
        receptors.append(
            Receptor(
                feature_id=f"area-{number}",
                name=f"area {number}",
                kind="bedding" if number % 2 else "food_plot",
                behaviour=Behaviour.STAYING,
                points=points,
                weights=np.ones(len(points)),
            )
        )
    for number in range(4):
        points, lengths = line_points(random.uniform(-800, 800, (3, 2)), spacing_m=25.0)
        receptors.append(
            Receptor(
                feature_id=f"way-{number}",
                name=f"way {number}",
                kind="corridor",
                behaviour=Behaviour.PASSING,
                points=points,
                weights=lengths,
            )
        )
    return receptors


def _session(random: np.random.Generator, number: int) -> SessionAir:
    evening = number % 2 == 1
    return SessionAir(
        kind=SessionKind.EVENING if evening else SessionKind.MORNING,
        air=forecast_hours(
            wind_from_deg=random.uniform(0, 360, HOURS),
            speed_mps=random.uniform(0, 8, HOURS),
            gust_mps=random.uniform(5, 12, HOURS),
            cloud_fraction=random.uniform(0, 1, HOURS),
            sun_elevation_deg=np.linspace(25, -5, HOURS) if evening else np.linspace(-8, 25, HOURS),
            sun_azimuth_deg=np.linspace(225, 275, HOURS) - (0 if evening else 140),
            sun_rising=not evening,
            lead_hours=12.0 * number + np.arange(HOURS),
            settings=SETTINGS,
        ),
    )


def _plume_points(stands: list[StandPlace], receptors: list[Receptor]) -> int:
    noses = len(feature_points(receptors).points)
    sits = sum(2 if stand.elevated else 1 for stand in stands) * HOURS
    walks = sum(
        len(draws_of(route, SETTINGS)) for stand in stands for route in (stand.approach, stand.exit)
    )
    return noses * SESSIONS * SETTINGS.error_nodes * (sits + walks)


def _bare_plume(points: int) -> None:
    random = np.random.default_rng(5)
    size = 100_000
    arrays = {
        "stability": random.integers(0, 6, size),
        "speed_mps": random.uniform(0.5, 8.0, size),
        "downwind_m": random.uniform(-800.0, 800.0, size),
        "across_m": random.uniform(-200.0, 200.0, size),
        "source_height_m": np.full(size, 6.0),
        "nose_height_m": np.full(size, 1.0),
    }
    for start in range(0, points, size):
        count = min(size, points - start)
        relative_concentration(**{name: array[:count] for name, array in arrays.items()})
