"""The demo's ways in and emergency sheets: one for each property, and no code is legible."""

import pytest

from coop.demo.out_there import INVENTED_CODES
from coop.demo.run import Demo
from properties.emergency.models import EmergencySheet, MedicalNote
from properties.gates.models import Gate, GateCode
from scheduling.tracking.models import Neighbour

pytestmark = pytest.mark.django_db


def test_every_property_has_a_way_in_a_sheet_and_a_neighbour(demo: Demo) -> None:
    lands = set(demo.cooperative.lands.values())
    for rows in (Gate.objects, EmergencySheet.objects, Neighbour.objects):
        assert {row.property for row in rows.filter(property__in=lands)} == lands


def test_codes_and_notes_are_sealed(demo: Demo) -> None:
    codes = GateCode.objects.filter(gate__property__in=demo.cooperative.lands.values())
    assert codes.count() == len(INVENTED_CODES) * len(demo.cooperative.lands)
    assert not [
        row for row in codes for code in INVENTED_CODES if code.encode() in bytes(row.sealed)
    ]
    (note,) = MedicalNote.objects.filter(person__cooperative=demo.cooperative.cooperative)
    assert b"stings" not in bytes(note.sealed)
