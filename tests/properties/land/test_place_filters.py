"""Filters by place: a box, or a place and a distance, on whatever lies at a point."""

import pytest
from rest_framework.serializers import ValidationError

from properties.land.geodesy import destination
from properties.land.place_filters import bounding_box, position, rows_within
from properties.stands.models import Stand
from tests.cast import make_stand


@pytest.mark.parametrize("text", ["", "1", "1,2,3", "a,b", "181,0", "0,91", "nan,0"])
def test_a_place_that_is_none_is_named(text):
    with pytest.raises(ValidationError) as refused:
        position(text)
    assert set(refused.value.detail) == {"near"}


@pytest.mark.parametrize(
    "text", ["1,2,3", "2,0,1,1", "0,2,1,1", "nan,0,1,1", "0,0,1,91", "a,b,c,d"]
)
def test_a_box_that_is_none_is_named(text):
    with pytest.raises(ValidationError) as refused:
        bounding_box(text)
    assert set(refused.value.detail) == {"bbox"}


@pytest.mark.django_db
@pytest.mark.parametrize("bearing", [0, 90, 225])
def test_rows_within_a_distance_are_found_to_the_metre(cast, bearing):
    for metres in (99, 101):
        lon, lat = destination(cast.north.longitude, cast.north.latitude, bearing, metres)
        make_stand(cast.north, f"At {metres} m", longitude=float(lon), latitude=float(lat))
    found = rows_within(
        Stand.objects.all(), lon=cast.north.longitude, lat=cast.north.latitude, within_m=100
    )
    assert [stand.name for stand in found] == ["At 99 m"]
    assert not rows_within(Stand.objects.none(), lon=0, lat=0, within_m=1e7).exists()
