"""Cameras hung at a scrape, and files of what they saw."""

import pytest

from tests.scrapes.cameras.taking_in import CSV_HEADER, HUNG_AT
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

from .packages import DEPLOYMENTS, in_folder, package_files


@pytest.fixture
def scrape(cast):
    return make_scrape(cast.north)


@pytest.fixture
def d1(cast, scrape):
    return make_deployment(make_camera(cast.north, "north"), scrape, starts_at=HUNG_AT, code="d1")


@pytest.fixture
def d2(cast, scrape):
    return make_deployment(make_camera(cast.north, "south"), scrape, starts_at=HUNG_AT, code="d2")


@pytest.fixture
def package(tmp_path, cast):
    """Writes a package whose cameras hang at the property's centre."""

    def write(name="package", **changes):
        place = {"latitude": str(cast.north.latitude), "longitude": str(cast.north.longitude)}
        changes.setdefault("deployments", [row | place for row in DEPLOYMENTS])
        return in_folder(tmp_path / name, package_files(**changes))

    return write


@pytest.fixture
def table(tmp_path):
    def write(*rows, name="card.csv"):
        place = tmp_path / name
        place.write_text(CSV_HEADER + "\n".join(rows) + "\n")
        return place

    return write
