"""Trails, stands, cameras and wind around the middle of the cast's northern property."""

from datetime import UTC, date, datetime, timedelta

from properties.land.geodesy import destination
from properties.land.models import Feature
from properties.sessions.models import Season
from properties.wind.models import ObservedHour
from tests.cast import make_stand
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape


def off(land, bearing, metres):
    """Longitude and latitude of a place off the property's centre."""
    longitude, latitude = destination(land.longitude, land.latitude, bearing, metres)
    return float(longitude), float(latitude)


def make_feature(land, kind, name, geometry):
    longitudes, latitudes = zip(*_positions(geometry["coordinates"]), strict=True)
    return Feature.objects.create(
        property=land,
        kind=kind,
        name=name,
        geometry=geometry,
        west=min(longitudes),
        east=max(longitudes),
        south=min(latitudes),
        north=max(latitudes),
    )


def _positions(coordinates):
    if isinstance(coordinates[0], float):
        return [coordinates]
    return [position for part in coordinates for position in _positions(part)]


def corridor(land, name="Bench trail", *, north_m=10.0):
    """A trail running west to east, some metres north of the centre."""
    middle = off(land, 0, north_m)
    ends = [[float(value) for value in destination(*middle, bearing, 100)] for bearing in (270, 90)]
    return make_feature(land, "corridor", name, {"type": "LineString", "coordinates": ends})


def stand_at(land, name, bearing, metres, **fields):
    longitude, latitude = off(land, bearing, metres)
    return make_stand(land, name, longitude=longitude, latitude=latitude, **fields)


def camera_at(land, bearing, metres, name="Camera 1"):
    scrape = make_scrape(land, f"For {name}")
    hung = make_deployment(make_camera(land, name), scrape)
    hung.longitude, hung.latitude = off(land, bearing, metres)
    hung.save()
    return hung


def record_wind(land, direction, *, days=range(1, 20)):
    """Hours of 2 to 4 in the afternoon there, blowing from one direction."""
    ObservedHour.objects.bulk_create(
        ObservedHour(
            property=land,
            source="own station",
            starts_at=datetime(2025, 10, day, hour, tzinfo=UTC),
            wind_from_deg=direction,
            speed_mps=3.0,
        )
        for day in days
        for hour in (20, 21, 22)
    )


def autumn(land):
    return Season.objects.create(
        property=land,
        name="Archery",
        first_on=date(2025, 10, 1),
        last_on=date(2025, 12, 31),
        weapons=["bow"],
    )


def record_every_hour(land, direction, *, first=date(2025, 10, 1), days=10, speed_mps=3.0):
    """Whole days of wind from one direction."""
    start = datetime(first.year, first.month, first.day, tzinfo=UTC)
    ObservedHour.objects.bulk_create(
        ObservedHour(
            property=land,
            source="own station",
            starts_at=start + timedelta(hours=hour),
            wind_from_deg=direction,
            speed_mps=speed_mps,
        )
        for hour in range(24 * days)
    )
