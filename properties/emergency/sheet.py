"""The sheet of one property with all its stands, as it is shown, printed and kept."""

import hashlib
from typing import Any

import orjson
from django.template.loader import render_to_string

from properties.emergency.cautions import sheet_cautions
from properties.emergency.coordinates import decimal_degrees, degrees_minutes
from properties.emergency.models import EmergencySheet, StandEmergency
from properties.emergency.queries import settings_of
from properties.land.models import Property
from properties.stands.models import Stand

_OF_PROPERTY = (
    "hospital_name",
    "hospital_address",
    "hospital_phone",
    "key_holders",
    "notes",
    "checked_on",
)
_OF_STAND = ("road_address", "ambulance_directions", "first_aid_kit")


def sheet_of(land: Property) -> dict[str, Any]:
    """Everything on the sheet; where a stand says nothing of its own the property's words hold."""
    kept = EmergencySheet.objects.filter(property=land).first() or EmergencySheet(property=land)
    number = settings_of(land).local_emergency_number
    stands = Stand.objects.filter(property=land, retired_at=None).order_by("name", "id")
    own = {row.stand_id: row for row in StandEmergency.objects.filter(stand__in=stands)}
    return {
        "property": land.id,
        "property_name": land.name,
        "cautions": sheet_cautions(local_emergency_number=number),
        "local_emergency_number": number,
        **{name: getattr(kept, name) for name in (*_OF_STAND, *_OF_PROPERTY)},
        "stands": [_row(stand, own.get(stand.id), kept) for stand in stands],
    }


def etag_of_sheet(sheet: dict[str, Any], *, form: str) -> str:
    """A strong tag of what the sheet says in one form; the same words have the same tag."""
    content = orjson.dumps(sheet, default=str, option=orjson.OPT_SORT_KEYS)
    return f'"{hashlib.sha256(form.encode() + content).hexdigest()[:32]}"'


def sheet_page(sheet: dict[str, Any]) -> str:
    """The sheet as one page that holds all it needs, for screen, paper and no signal."""
    return render_to_string("properties/emergency_sheet.html", sheet)


def _row(stand: Stand, own: StandEmergency | None, kept: EmergencySheet) -> dict[str, Any]:
    place = {"latitude": stand.latitude, "longitude": stand.longitude}
    return {
        "stand": stand.id,
        "stand_name": stand.name,
        **place,
        "decimal_degrees": decimal_degrees(**place),
        "degrees_minutes": degrees_minutes(**place),
        **{name: getattr(own, name, "") or getattr(kept, name) for name in _OF_STAND},
    }
