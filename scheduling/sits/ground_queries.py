"""What the house rules know of properties and stands: closures, seasons, surroundings."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta
from uuid import UUID

from django.db.models import F, Max

from properties.land import models as land_models
from properties.land.geometry import parse_geometry
from properties.land.models import Feature, FeatureKind, HazardSort, Property
from properties.land.queries import boundary_of
from properties.obligations.queries import obligation_settings_of
from properties.obligations.settings import ObligationSettings
from properties.people.weapons import Weapon
from properties.sessions.models import Season
from properties.stands.models import Inspection, Stand, StandExclusion
from scheduling.rules.facts import (
    Closure,
    DangerArc,
    Exclusion,
    HazardKind,
    PropertyFacts,
    SeasonFacts,
    ShootingArc,
    StandFacts,
    WorkAsked,
)
from scheduling.rules.limits import Limits
from scheduling.rules.setbacks import danger_distance_m
from scheduling.sits.closure_queries import part_closures, whole_closures
from scheduling.sits.lease_queries import closed_weekday_dates, lease_facts
from scheduling.sits.models import Sit
from scheduling.sits.settings import SitSettings
from scheduling.sits.surroundings import (
    MappedHazard,
    StandPoint,
    hazards_around,
    stands_in_arcs,
)
from scheduling.sits.uses_queries import COUNTED_STATES

_HAZARD_FEATURES = (FeatureKind.HAZARD, FeatureKind.SANCTUARY)
_KIND_OF_SORT = {HazardSort.HOUSE: HazardKind.HOUSE, HazardSort.ROAD: HazardKind.ROAD}


def property_facts(
    lands: Sequence[Property],
    *,
    first_on: date,
    last_on: date,
    closures: Sequence[land_models.Closure],
    settings: Mapping[UUID, SitSettings],
) -> tuple[PropertyFacts, ...]:
    """Properties with their closures of the days, seasons, required papers and dark days."""
    ids = [land.id for land in lands]
    closed = whole_closures(lands, closures)
    leases = lease_facts(ids)
    closed_weekdays = closed_weekday_dates(ids, first_on=first_on, last_on=last_on)
    obligations = {land.id: obligation_settings_of(land) for land in lands}
    guests = _guest_sits(ids, first_on, last_on)
    seasons: dict[UUID, list[SeasonFacts]] = defaultdict(list)
    for row in Season.objects.filter(property__in=ids).order_by("first_on", "name", "id"):
        seasons[row.property_id].append(
            SeasonFacts(
                name=row.name,
                first_date=row.first_on,
                last_date=row.last_on,
                weapons=frozenset(row.weapons),
                youth_only=row.youth_only,
            )
        )
    return tuple(
        PropertyFacts(
            property_id=str(land.id),
            name=land.name,
            time_zone=land.time_zone,
            closures=tuple(closed[land.id]),
            required_papers=frozenset(settings[land.id].required_papers),
            required_guest_papers=frozenset(settings[land.id].required_guest_papers),
            seasons=tuple(seasons[land.id]),
            dark_dates=settings[land.id].dark_days,
            leases=leases.get(land.id, ()),
            closed_weekday_dates=frozenset(closed_weekdays[land.id]),
            dues_needed=obligations[land.id].dues_needed,
            work_asked=_work_asked(obligations[land.id]),
            youths_an_adult=settings[land.id].youths_an_adult,
            supervising_papers=frozenset(settings[land.id].supervising_papers),
            guest_sits=tuple(guests[land.id]),
            year_first_month=settings[land.id].season_year_first_month,
        )
        for land in lands
    )


def _work_asked(asked: ObligationSettings) -> WorkAsked | None:
    if not asked.work_needed or not asked.work_days_owed:
        return None
    return WorkAsked(
        hours=asked.work_owed_h,
        day_h=asked.work_day_h,
        due=asked.work_due,
        year_first_month=asked.year_first_month,
    )


def _guest_sits(
    property_ids: Collection[UUID], first_on: date, last_on: date
) -> Mapping[UUID, list[tuple[date, str]]]:
    """Dates and hosts of guests' sits, from a year before the days to a year after them.

    Young hunters are no guests by this count, whoever brings them.
    """
    found: dict[UUID, list[tuple[date, str]]] = defaultdict(list)
    year = timedelta(days=366)
    rows = Sit.objects.filter(
        property__in=property_ids,
        host__isnull=False,
        state__in=COUNTED_STATES,
        local_date__range=(first_on - year, last_on + year),
    ).exclude(person__youth__youth_until__gte=F("local_date"))
    for property_id, on, host_id in rows.values_list("property_id", "local_date", "host_id"):
        found[property_id].append((on, str(host_id)))
    return found


def stand_facts(
    lands: Mapping[UUID, Property],
    stands: Sequence[Stand],
    *,
    asked: Collection[UUID],
    closures: Sequence[land_models.Closure],
) -> tuple[StandFacts, ...]:
    """Stands as the rules see them; surroundings are measured for the ``asked`` ones only."""
    mapped = _mapped_hazards(lands)
    closed_parts = part_closures(lands, stands, closures)
    failed = dict(
        Inspection.objects.filter(stand__property__in=lands, passed=False)
        .values("stand")
        .annotate(last=Max("inspected_on"))
        .values_list("stand", "last")
    )
    return tuple(
        StandFacts(
            stand_id=str(stand.id),
            name=stand.name,
            property_id=str(stand.property_id),
            is_elevated=stand.is_elevated(),
            seats=stand.capacity,
            is_retired=stand.retired_at is not None,
            closures=_stand_closures(stand),
            ground_closures=tuple(closed_parts[stand.id]),
            inspected_on=stand.last_inspected_on,
            failed_inspection_on=failed.get(stand.id),
            shooting_arc=ShootingArc(
                from_bearing_deg=stand.arc_from_deg, to_bearing_deg=stand.arc_to_deg
            ),
            longest_shot_m=stand.shot_distance_m,
            hazards=hazards_around(stand_point(stand), mapped[stand.property_id])
            if stand.id in asked
            else (),
            flood_stage_m=stand.flood_stage_m,
        )
        for stand in stands
    )


def exclusions_of(stands: Sequence[Stand]) -> tuple[Exclusion, ...]:
    """Pairs that a manager stated are not used together."""
    listed = {stand.id for stand in stands}
    rows = StandExclusion.objects.filter(
        first__property__in={stand.property_id for stand in stands}
    ).order_by("id")
    stated = {
        (str(row.first_id), str(row.second_id))
        for row in rows
        if {row.first_id, row.second_id} <= listed
    }
    return tuple(Exclusion(stand_id=one, other_stand_id=other) for one, other in sorted(stated))


def danger_arcs_of(
    stands: Sequence[Stand], *, weapons: Mapping[str, Collection[str]], limits: Mapping[str, Limits]
) -> tuple[DangerArc, ...]:
    """Stands in each other's arcs, with the weapons that reach; ``weapons`` by property's id.

    A stand that is in somebody's arc is told whoever is the one endangered.
    """
    standing = [stand for stand in stands if stand.retired_at is None]
    reach = {
        str(stand.id): {
            weapon: danger_distance_m(weapon, limits[str(stand.id)].house)
            for weapon in weapons[str(stand.property_id)]
        }
        for stand in standing
    }
    near = stands_in_arcs(
        [stand_point(stand) for stand in standing],
        {stand_id: max(by_weapon.values()) for stand_id, by_weapon in reach.items()},
    )
    return tuple(
        DangerArc(
            stand_id=each.shooter_id,
            other_stand_id=each.other_id,
            weapons=frozenset(
                weapon
                for weapon, reach_m in reach[each.shooter_id].items()
                if each.distance_m < reach_m
            ),
        )
        for each in near
    )


def weapons_that_count(
    places: Iterable[PropertyFacts], declared: Collection[str]
) -> Mapping[str, Collection[str]]:
    """By property: whatever a season there allows or somebody declared; the rifle for none."""
    allowed = {
        place.property_id: frozenset().union(*(season.weapons for season in place.seasons))
        for place in places
    }
    return {
        property_id: frozenset(declared) | (weapons or {Weapon.RIFLE.value})
        for property_id, weapons in allowed.items()
    }


def stand_point(stand: Stand) -> StandPoint:
    """A stand's place and arc, as its surroundings are judged by them."""
    return StandPoint(
        stand_id=str(stand.id),
        longitude=stand.longitude,
        latitude=stand.latitude,
        arc_from_deg=stand.arc_from_deg,
        arc_to_deg=stand.arc_to_deg,
    )


def _stand_closures(stand: Stand) -> tuple[Closure, ...]:
    return () if stand.is_open else (Closure(reason=stand.closed_reason),)


def _mapped_hazards(lands: Mapping[UUID, Property]) -> Mapping[UUID, list[MappedHazard]]:
    found = {
        land.id: [
            MappedHazard(
                kind=HazardKind.BOUNDARY,
                name=f"the boundary of {land.name}",
                geometry=boundary_of(land).boundary,
            )
        ]
        for land in lands.values()
    }
    rows = Feature.objects.filter(
        property__in=lands, retired_at=None, kind__in=_HAZARD_FEATURES
    ).order_by("id")
    for row in rows:
        found[row.property_id].append(
            MappedHazard(
                kind=_hazard_kind(row),
                name=row.name,
                geometry=parse_geometry(row.geometry),
                has_backstop=row.has_backstop,
            )
        )
    return found


def _hazard_kind(feature: Feature) -> HazardKind:
    if feature.kind == FeatureKind.SANCTUARY:
        return HazardKind.SANCTUARY
    if feature.hazard_sort == "":
        return HazardKind.HAZARD
    return _KIND_OF_SORT.get(HazardSort(feature.hazard_sort), HazardKind.HAZARD)
