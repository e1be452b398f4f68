"""Harvest as other rooms ask for it, and counted against the plans."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import Count

from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.land.settings import resolve
from scheduling.sits.harvest_arithmetic import Counted
from scheduling.sits.harvest_checks import Deer
from scheduling.sits.harvest_settings import HarvestSettings
from scheduling.sits.harvest_years import season_year_span
from scheduling.sits.models import DeerSex, Harvest, HarvestClass, HarvestPlan
from scrapes.care.bucks import BuckTaken

CountedBeside = Callable[[Property, datetime, datetime], Mapping[str, int]]
"""Of a property in ``[begins_at, ends_at)``: deer by class that count though none was taken."""

_counted_beside: list[CountedBeside] = []


def register_counted_beside(source: CountedBeside) -> None:
    """Let a room to the right tell what the house counts beside deer taken; registered once."""
    if source not in _counted_beside:
        _counted_beside.append(source)


def harvest_settings_of(land: Property) -> HarvestSettings:
    return resolve(HarvestSettings, *setting_layers(land))


def bucks_taken(land: Property, since: datetime, until: datetime) -> Iterable[BuckTaken]:
    """Antlered deer recorded in ``[since, until)``: where told, else at the stand of their sit.

    Each is named as in pictures where somebody said which one it was.
    """
    rows = Harvest.objects.filter(
        property=land,
        harvest_class=HarvestClass.ANTLERED,
        taken_at__gte=since,
        taken_at__lt=until,
    ).select_related("sit__stand")
    for row in rows:
        yield BuckTaken(individual=row.individual, taken_at=row.taken_at, place=_place(row))


def _place(row: Harvest) -> tuple[float, float] | None:
    if row.longitude is not None and row.latitude is not None:
        return row.longitude, row.latitude
    return None if row.sit is None else (row.sit.stand.longitude, row.sit.stand.latitude)


def counted_plans(plans: Sequence[HarvestPlan]) -> Mapping[UUID, Counted]:
    """What was taken of each plan, by its id; one query for each property and season's year.

    Deer of unknown sex are counted apart where a plan is for one sex.
    """
    by_year: dict[tuple[UUID, int], list[HarvestPlan]] = defaultdict(list)
    for plan in plans:
        by_year[plan.property_id, plan.season_year].append(plan)
    found: dict[UUID, Counted] = {}
    for (_land_id, year), together in by_year.items():
        taken = taken_in_year(together[0].property, year)
        for plan in together:
            found[plan.id] = _counted(plan, taken)
    return found


def taken_in_year(land: Property, year: int) -> Mapping[tuple[str, str], int]:
    """Deer taken in a season's year, by class and sex, with what the house counts beside."""
    begins_at, ends_at = season_year_span(year, land)
    rows = (
        Harvest.objects.filter(property=land, taken_at__gte=begins_at, taken_at__lt=ends_at)
        .order_by()
        .values_list("harvest_class", "sex")
        .annotate(number=Count("id"))
    )
    taken = Counter({(kind, sex): number for kind, sex, number in rows})
    for source in _counted_beside:
        for kind, number in source(land, begins_at, ends_at).items():
            taken[kind, DeerSex.UNKNOWN] += number
    return taken


def _counted(plan: HarvestPlan, taken: Mapping[tuple[str, str], int]) -> Counted:
    of_class = {sex: number for (kind, sex), number in taken.items() if kind == plan.harvest_class}
    if not plan.sex:
        return Counted(planned=plan.planned, taken=sum(of_class.values()))
    return Counted(
        planned=plan.planned,
        taken=of_class.get(plan.sex, 0),
        unsexed=of_class.get(DeerSex.UNKNOWN, 0),
    )


def planned_by_class(plans: Iterable[HarvestPlan]) -> dict[str, int]:
    """One number for each class of plans of one property and year.

    A plan for the class as a whole is that number; without one those for its sexes add up.
    """
    whole: dict[str, int] = {}
    by_sex: dict[str, int] = defaultdict(int)
    for plan in plans:
        if plan.sex:
            by_sex[plan.harvest_class] += plan.planned
        else:
            whole[plan.harvest_class] = plan.planned
    return dict(sorted((by_sex | whole).items()))


def as_deer(harvest: Harvest) -> Deer:
    """A record as the checks read it."""
    return Deer(
        is_antlered=harvest.harvest_class == HarvestClass.ANTLERED,
        sex=harvest.sex,
        dressed_weight_kg=harvest.dressed_weight_kg,
        age_years=harvest.age_years,
        lactating=harvest.lactating,
        beam_length_mm=harvest.beam_length_mm,
        base_circumference_mm=harvest.base_circumference_mm,
        inside_spread_mm=harvest.inside_spread_mm,
        antler_points=harvest.antler_points,
    )
