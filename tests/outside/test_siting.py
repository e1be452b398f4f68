"""Siting against published values and independent libraries."""

from datetime import UTC, date, datetime

import numpy as np
import pandas as pd
import pvlib
import pytest
import shapely
from pyproj import Geod

from properties.land.geodesy import LocalFrame
from properties.sessions.place import Place
from properties.sessions.sun import sun_days
from properties.sessions.sun_position import sun_positions
from scrapes.siting.broadside import bearing_deg
from scrapes.siting.build_sheet import AWG_WIRE, FASTENING_WIRE, IMPERIAL_WIRE, awg_diameter_mm
from scrapes.siting.figures import downwind, site_figures
from scrapes.siting.places import Around, CameraPlace, Route, StandPlace
from scrapes.siting.settings import SitingSettings

DRIFTLESS = Place(latitude_deg=43.2, longitude_deg=-91.5, time_zone="America/Chicago")

# Vincenty, Survey Review 23 (1975), and Geoscience Australia's worked example on GRS 80 (from
# memory): Flinders Peak to Buninyong is 54 972.271 m at 306 degrees 52' 05.37".
FLINDERS_PEAK = (144 + 25 / 60 + 29.52440 / 3600, -(37 + 57 / 60 + 3.72030 / 3600))
BUNINYONG = (143 + 55 / 60 + 35.38390 / 3600, -(37 + 39 / 60 + 10.15610 / 3600))


def test_a_stands_distance_and_bearing_in_the_frame_are_the_published_geodesics():
    frame = LocalFrame(origin_lon=FLINDERS_PEAK[0], origin_lat=FLINDERS_PEAK[1])
    east, north = (float(metres) for metres in frame.to_metres(*BUNINYONG))
    stand = StandPlace(name="far away", place=(east, north), shot_m=27)
    figures = site_figures([(0.0, 0.0)], Around(stands=(stand,)), settings=SitingSettings())
    assert figures.stand_m[0, 0] == pytest.approx(54_972.271, abs=6e-4)
    assert bearing_deg((0.0, 0.0), stand.place) == pytest.approx(
        306 + 52 / 60 + 5.37 / 3600, abs=0.006 / 3600
    )


@pytest.mark.parametrize(("bearing", "metres"), [(17, 12.5), (143, 26.0), (261, 410.0)])
def test_distances_between_places_of_a_search_agree_with_proj(bearing, metres):
    """PROJ's geodesics (Karney 2013), 900 m off the frame's origin, which is the property's."""
    earth = Geod(ellps="WGS84")
    lon, lat, _ = earth.fwd(-91.5, 43.2, 40, 900)
    to_lon, to_lat, _ = earth.fwd(lon, lat, bearing, metres)
    frame = LocalFrame(origin_lon=-91.5, origin_lat=43.2)
    here, there = (
        tuple(float(one) for one in frame.to_metres(*place))
        for place in ((lon, lat), (to_lon, to_lat))
    )
    stand = StandPlace(name="stand", place=there, shot_m=27)
    route = Route(name="trail", points=(there, there))
    around = Around(stands=(stand,), routes=(route,))
    figures = site_figures([here], around, settings=SitingSettings())
    assert figures.stand_m[0, 0] == pytest.approx(metres, abs=1e-3)
    assert figures.route.away_m[0] == pytest.approx(metres, abs=1e-3)
    # Meridians meet: 900 m off the frame's north has turned by 0.004 degrees.
    assert (figures.from_stand_deg[0, 0] + 180) % 360 == pytest.approx(bearing, abs=0.01)


# Plume coordinates of EPA's ISC3 (EPA-454/B-95-003b, 1995): wind from phi, receptor e east and n
# north of the source lies x = -e sin(phi) - n cos(phi) downwind, y = e cos(phi) - n sin(phi)
# across. (wind, e, n, x, y) as computed from them.
ISC3 = [
    (270, 300, 0, 300, 0),
    (0, 0, -250, 250, 0),
    (315, 200, -100, 212.132, 70.711),
    (350, 50, -400, 402.606, -20.219),
    (90, -120, 35, 120, -35),
]


@pytest.mark.parametrize(("wind", "east", "north", "along", "across"), ISC3)
def test_the_downwind_side_lies_along_the_published_axis(wind, east, north, along, across):
    """From a stand at the receptor the side checked from ``check`` m downwind is as far as the
    plume coordinates say: (along - check) down the axis, ``across`` beside it."""
    settings = SitingSettings(downwind_check_m=100.0)
    seat = StandPlace(name="receptor", place=(float(east), float(north)), shot_m=500)
    away, _inside = downwind(np.zeros((1, 2)), seat, [wind], settings)
    assert away.item() == pytest.approx(np.hypot(along - 100, across), abs=2e-3)


def test_the_low_sun_is_where_an_independent_library_has_it():
    """pvlib's solar position algorithm (Reda & Andreas 2003, NREL/TP-560-34302)."""
    days = list(sun_days(DRIFTLESS, date(2025, 10, 1), date(2026, 1, 10)))[::7]
    instants = [instant for day in days for instant in (day.sunrise, day.sunset)]
    ours = sun_positions(DRIFTLESS, instants).azimuth_deg
    theirs = pvlib.solarposition.get_solarposition(
        pd.DatetimeIndex(instants), 43.2, -91.5, method="nrel_numpy"
    )["azimuth"].to_numpy()
    assert np.abs((ours - theirs + 180) % 360 - 180).max() < 0.02
    # The sun's centre then stands 50' below the horizon (HMNAO, NAO technical sheet 7).
    assert sun_positions(DRIFTLESS, instants).elevation_deg == pytest.approx(-50 / 60, abs=0.35)


@pytest.mark.parametrize(
    ("day", "declination_deg"),
    # Declination at the June and December solstice is the obliquity of the ecliptic, 23.44
    # degrees, and 0 at the equinoxes (Meeus, Astronomical Algorithms, chapter 27; from memory).
    [(date(2025, 12, 21), -23.44), (date(2025, 6, 21), 23.44), (date(2025, 9, 22), 0.0)],
)
def test_sunrise_and_sunset_stand_where_spherical_trigonometry_puts_them(day, declination_deg):
    """cos A = (sin d - sin a sin p) / (cos a cos p) from the sun's height a, 50' below the
    horizon, and the latitude p (any textbook of spherical astronomy)."""
    height, latitude, declination = np.radians([-50 / 60, 43.2, declination_deg])
    cosine = (np.sin(declination) - np.sin(height) * np.sin(latitude)) / (
        np.cos(height) * np.cos(latitude)
    )
    rise = np.degrees(np.arccos(cosine))
    (found,) = sun_days(DRIFTLESS, day, day)
    azimuths = sun_positions(DRIFTLESS, [found.sunrise, found.sunset]).azimuth_deg
    # Half a day's change of declination at the equinox, 0.2 degrees, is 0.3 of azimuth.
    assert azimuths[0] == pytest.approx(rise, abs=0.35)
    assert azimuths[1] == pytest.approx(360 - rise, abs=0.35)


def test_a_camera_is_held_against_the_published_sun():
    """NREL's worked example: 39.742476 N, 105.1786 W, 17 Oct 2003, 12:30:30 at UTC-7, azimuth
    194.34024 degrees (Reda & Andreas 2003, NREL/TP-560-34302)."""
    golden = Place(latitude_deg=39.742476, longitude_deg=-105.1786, time_zone="America/Denver")
    # The report takes UT1 and UTC as one; the earth stood so 0.3625 s later (IERS tables).
    instant = datetime(2003, 10, 17, 19, 30, 30, 362_500, tzinfo=UTC)
    sun = tuple(float(one) for one in sun_positions(golden, [instant]).azimuth_deg)
    # A camera due north of the place looks due south.
    around = Around(cameras=(CameraPlace(name="north", place=(0.0, 8.0)),), sun_azimuths_deg=sun)
    figures = site_figures([(0.0, 0.0)], around, settings=SitingSettings())
    assert figures.camera_looks_deg[0, 0] == 180
    assert figures.camera_sun_away_deg[0, 0] == pytest.approx(14.34024, abs=3e-4)


def test_wire_gauges_have_their_published_diameters():
    """Rowlett, How Many?, University of North Carolina: No. 9 is .1483 in by Washburn & Moen,
    .144 in by the Imperial Standard, .1144 in by the American wire gauge. 1 in = 25.4 mm."""
    assert FASTENING_WIRE.diameter_mm == pytest.approx(0.1483 * 25.4)
    assert IMPERIAL_WIRE.diameter_mm == pytest.approx(0.144 * 25.4)
    assert AWG_WIRE.diameter_in == 0.1144
    assert AWG_WIRE.diameter_mm == pytest.approx(2.906, abs=5e-4)


@pytest.mark.parametrize(
    ("number", "inches"), [(36, 0.0050), (10, 0.1019), (12, 0.0808), (18, 0.0403)]
)
def test_the_american_gauge_follows_its_table(number, inches):
    """ASTM B258's table in inches (from memory); No. 36 is .005 in by definition."""
    assert awg_diameter_mm(number) / 25.4 == pytest.approx(inches, abs=5e-5)


def test_the_nearest_route_is_the_foot_of_the_perpendicular():
    """Distance from (3, 1) to the line 3x + 4y = 25 is |9 + 4 - 25| / 5 = 2.4 (Hesse's form)."""
    line = shapely.LineString([(3, 4), (7, 1)])
    route = Route(name="line", points=[(float(x), float(y)) for x, y in line.coords])
    figures = site_figures([(3.0, 1.0)], Around(routes=(route,)), settings=SitingSettings())
    assert figures.route.away_m[0] == pytest.approx(2.4)
