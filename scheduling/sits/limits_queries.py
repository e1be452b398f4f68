"""The limits that hold for each stand: cooperative, property and stand laid over each other."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from uuid import UUID

from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.papers_asked import PapersAsked
from properties.land.queries import setting_layers
from properties.leases.queries import leases_by_property
from properties.stands.models import Stand
from properties.wind.settings import WindSettings
from scheduling.rules.limits import Limits
from scheduling.rules.settings import HouseRuleSettings
from scheduling.sits.settings import SitSettings


def sit_settings_of(land: Property) -> SitSettings:
    return layered_settings.resolve(SitSettings, *setting_layers(land))


def papers_asked_of(land: Property) -> PapersAsked:
    """What the papers' rule asks of hunters and of guests, for the property's own answer."""
    asked = sit_settings_of(land)
    return PapersAsked(hunters=asked.required_papers, guests=asked.required_guest_papers)


def limits_of_stands(
    lands: Mapping[UUID, Property], stands: Iterable[Stand]
) -> Mapping[str, Limits]:
    """Limits by stand id. Stands of one property without settings of their own share them.

    ``rest_days`` of the stand itself goes before any layer.
    """
    shared: dict[tuple[UUID, str], Limits] = {}
    found: dict[str, Limits] = {}
    for stand in stands:
        key = (stand.property_id, json.dumps(stand.settings, sort_keys=True))
        if key not in shared:
            shared[key] = _resolved(lands[stand.property_id], stand)
        limits = shared[key]
        if stand.rest_days is not None:
            limits = replace(limits, house=replace(limits.house, rest_days=stand.rest_days))
        found[str(stand.id)] = limits
    return found


def with_lease_caps(
    limits: Mapping[str, Limits],
    stands: Iterable[Stand],
    *,
    first_on: date,
    last_on: date,
) -> Mapping[str, Limits]:
    """Limits whose hunters a session keep the cap of each lease in force on some of the days.

    Over days of several leases the strictest holds: a plan may be stricter than booking.
    """
    stands = list(stands)
    leases = leases_by_property(property_ids={stand.property_id for stand in stands})
    caps = {
        property_id: min(
            (
                row.most_hunters
                for row in rows
                if row.most_hunters and row.first_on <= last_on and row.last_on >= first_on
            ),
            default=0,
        )
        for property_id, rows in leases.items()
    }
    return {
        str(stand.id): _capped(limits[str(stand.id)], caps.get(stand.property_id, 0))
        for stand in stands
    }


def _capped(limits: Limits, cap: int) -> Limits:
    """0 sets no cap, of the house or of the lease."""
    house = limits.house.hunters_a_session
    if not cap or (house and house <= cap):
        return limits
    return replace(limits, house=replace(limits.house, hunters_a_session=cap))


def _resolved(land: Property, stand: Stand) -> Limits:
    layers = (*setting_layers(land), stand.settings)
    wind = layered_settings.resolve(WindSettings, *layers)
    return Limits(
        fit_floor=wind.fit_floor,
        worst_place_cap=wind.worst_place_cap,
        house=layered_settings.resolve(HouseRuleSettings, *layers),
    )
