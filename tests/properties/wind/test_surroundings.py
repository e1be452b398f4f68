"""What is mapped on a property, as the places where deer are expected."""

from datetime import UTC, datetime

import pytest

from coop.access.actors import system_actor
from properties.land.models import Feature
from properties.land.services import create_feature
from properties.wind.settings import WindSettings
from properties.wind.surroundings import surroundings_of
from tests.cast import square

NOW = datetime(2025, 11, 7, 12, tzinfo=UTC)


def mapped(land, kind, geometry):
    return create_feature(
        actor=system_actor("test"),
        land=land,
        fields={"kind": kind, "name": f"A {kind}", "geometry": geometry},
        now=NOW,
    )


def receptors(land, **changes):
    features = list(Feature.objects.filter(property=land))
    return surroundings_of(land, features=features, settings=WindSettings(**changes)).receptors


@pytest.mark.parametrize("kind", ["bedding", "food_plot", "sanctuary"])
def test_an_area_counts_as_often_as_the_standard_area_of_its_kind_fits_into_it(cast, kind):
    side_deg = 0.001
    mapped(cast.north, kind, square(cast.north.longitude, cast.north.latitude, side_deg))

    (receptor,) = receptors(cast.north, standard_area_ha={kind: 0.25})

    # A degree of latitude is 111.1 km at 43.2° N, one of longitude 81.2 km (WGS 84).
    hectares = 111_100 * side_deg * 81_240 * side_deg / 10_000
    assert receptor.share == pytest.approx(hectares / 0.25, rel=5e-3)
    assert receptor.is_staying


def test_ways_in_and_hazards_hold_no_deer(cast):
    west, south = cast.north.longitude, cast.north.latitude
    line = {"type": "LineString", "coordinates": [[west, south], [west + 0.001, south]]}
    mapped(cast.north, "access_route", line)
    mapped(cast.north, "hazard", {"type": "Point", "coordinates": [west, south]})

    assert receptors(cast.north) == ()
