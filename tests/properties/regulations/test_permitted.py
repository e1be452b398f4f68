"""What may be put out or hung: regulation first, then the property's own list, then the lease."""

from datetime import date, timedelta

import pytest

from properties.regulations.kinds import RegulationKind
from properties.regulations.permitted import (
    camera_objection,
    put_out_objection,
    refresh_objection,
    scents_permitted,
)
from properties.sessions.confirmation import is_unconfirmed
from tests.properties.leases.plots import leased
from tests.properties.regulations.entries import entered

ON = date(2025, 11, 8)
EARLIER = date(2025, 8, 15)


def scents(cast, *named_here, on=ON):
    return scents_permitted(cast.north, named_here=named_here, on=on)


def test_without_regulation_or_lease_the_propertys_own_list_stands(cast):
    assert scents(cast) == ()
    assert scents(cast, "Gland ", "doe urine") == ("Gland", "doe urine")


def test_regulation_goes_first_and_the_own_list_and_the_lease_narrow_it(cast):
    entered(cast, "scents", {"names": ["Gland", "Acorn", "Apple"]})
    assert scents(cast) == ("Gland", "Acorn", "Apple")
    assert scents(cast, "gland", "doe urine", "apple") == ("Gland", "Apple")
    assert scents(cast, "doe urine", on=EARLIER) == ("doe urine",)

    leased(cast, scents=["APPLE"])
    assert scents(cast, "gland", "apple") == ("Apple",)


def test_a_lease_that_says_nothing_of_scents_takes_none_away(cast):
    leased(cast, scents=None)

    assert scents(cast, "gland") == ("gland",)
    assert refresh_objection(cast.north, on=ON) is None


@pytest.mark.parametrize("regulated", [None, ["Gland"]])
def test_no_refresh_where_the_lease_leaves_no_scent(cast, regulated):
    if regulated is not None:
        entered(cast, "scents", {"names": regulated})
    leased(cast, scents=[] if regulated is None else ["Apple"])

    objection = refresh_objection(cast.north, on=ON)

    assert objection.code == "scent_not_permitted"
    assert "North" in objection.sentence


def test_no_refresh_where_regulation_permits_no_scent_on_those_days_alone(cast):
    entered(cast, "scents", {"names": []})

    assert "regulations" in refresh_objection(cast.north, on=ON).sentence
    assert refresh_objection(cast.north, on=EARLIER) is None


@pytest.mark.parametrize("kind", [RegulationKind.FEED, RegulationKind.MINERALS])
def test_feed_and_minerals_wait_until_somebody_has_looked_them_up(cast, kind):
    assert put_out_objection(cast.north, kind=kind, on=ON).code == f"{kind}_not_permitted"

    entered(cast, kind, {"permitted": True})
    assert put_out_objection(cast.north, kind=kind, on=ON) is None

    leased(cast, feed=False)
    assert "lease" in put_out_objection(cast.north, kind=kind, on=ON).sentence


def test_a_lease_cannot_permit_what_regulation_forbids(cast):
    entered(cast, "feed", {"permitted": False})
    leased(cast, feed=True)

    assert put_out_objection(cast.north, kind=RegulationKind.FEED, on=ON) is not None


@pytest.mark.parametrize(
    ("permitted", "refused"),
    [("any", []), ("not_transmitting", [True]), ("none", [True, False])],
)
@pytest.mark.parametrize("by_lease", [True, False])
def test_cameras_hang_as_regulation_and_lease_let_them(cast, permitted, refused, by_lease):
    assert camera_objection(cast.north, transmits=True, on=ON) is None
    if by_lease:
        leased(cast, cameras=permitted)
    else:
        entered(cast, "cameras", {"cameras": permitted})

    found = [
        transmits
        for transmits in (True, False)
        if camera_objection(cast.north, transmits=transmits, on=ON) is not None
    ]

    assert found == refused


@pytest.mark.parametrize(
    ("read_on", "last_believed"),
    [
        (date(2025, 11, 1), date(2026, 11, 1)),
        (date(2024, 2, 29), date(2025, 2, 28)),
    ],
)
def test_what_was_read_is_believed_for_a_year_to_the_day(read_on, last_believed):
    assert not is_unconfirmed(read_on, today=last_believed)
    assert is_unconfirmed(read_on, today=last_believed + timedelta(days=1))
