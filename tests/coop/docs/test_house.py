"""The contributors' guide shows the house as the import contracts have it."""

import re
from configparser import ConfigParser
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(settings.BASE_DIR)
NO_ROOMS = {"registration", "erasing", "models"}


@pytest.mark.parametrize("floor", ["properties", "scrapes", "scheduling"])
def test_the_guide_lists_the_rooms_of_a_floor_from_left_to_right(floor):
    contracts = ConfigParser()
    contracts.read(ROOT / ".importlinter")
    layers = contracts[f"importlinter:contract:{floor}"]["layers"].split("\n")
    rooms = [one.strip() for one in reversed(layers) if one.strip() and "|" not in one]

    row = re.search(rf"^\| `{floor}` \| ([^|]*) \|", (ROOT / "DEVELOPERS.md").read_text(), re.M)

    assert row is not None
    assert re.findall(r"`(\w+)`", row[1]) == [room for room in rooms if room not in NO_ROOMS]


@pytest.mark.parametrize("floor", ["properties", "scrapes", "scheduling"])
def test_every_folder_of_a_floor_is_a_room_of_the_contract(floor):
    contracts = ConfigParser()
    contracts.read(ROOT / ".importlinter")
    layers = contracts[f"importlinter:contract:{floor}"]["layers"].split()
    folders = {path.parent.name for path in (ROOT / floor).glob("*/__init__.py")}

    assert folders - {"migrations", "management"} <= set(layers)
