"""A property's harvest of some seasons, gathered from rows; the same queries for each year."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from django.db.models import Sum

from properties.land.models import Property
from scheduling.sits.harvest_arithmetic import (
    Counted,
    PerDay,
    SexRatio,
    Weighed,
    WeightOfAge,
    per_hunter_day,
    sex_ratio,
    weights_by_age,
)
from scheduling.sits.harvest_queries import counted_plans, harvest_settings_of, taken_in_year
from scheduling.sits.harvest_years import season_year_days, season_year_span
from scheduling.sits.models import DeerSex, Harvest, HarvestPlan, Sighting, Sit, SitState

HUNTED = (SitState.CHECKED_IN, SitState.CHECKED_OUT, SitState.REPORTED)


@dataclass(frozen=True, kw_only=True)
class PlanLine:
    """One plan against what was taken; ``counted`` is None where nothing was planned."""

    harvest_class: str
    sex: str
    counted: Counted | None
    taken: int


@dataclass(frozen=True, kw_only=True)
class HarvestYear:
    season_year: int
    deer: int
    plans: tuple[PlanLine, ...]
    per_hunter_day: PerDay
    seen: SexRatio
    weights: tuple[WeightOfAge, ...]


def harvest_years(land: Property, years: Sequence[int]) -> tuple[HarvestYear, ...]:
    """Figures of each season's year, in the order given."""
    return tuple(_year(land, year) for year in years)


def _year(land: Property, year: int) -> HarvestYear:
    taken = taken_in_year(land, year)
    deer = sum(taken.values())
    return HarvestYear(
        season_year=year,
        deer=deer,
        plans=_plans(land, year, taken),
        per_hunter_day=per_hunter_day(deer, _hunter_days(land, year)),
        seen=_seen(land, year),
        weights=_weights(land, year),
    )


def _plans(land: Property, year: int, taken: Mapping[tuple[str, str], int]) -> tuple[PlanLine, ...]:
    """A line for each plan, and one for each class that was taken without any."""
    plans = list(
        HarvestPlan.objects.filter(property=land, season_year=year)
        .select_related("property__cooperative")
        .order_by("harvest_class", "sex")
    )
    counts = counted_plans(plans)
    lines = [
        PlanLine(
            harvest_class=plan.harvest_class,
            sex=plan.sex,
            counted=counts[plan.id],
            taken=counts[plan.id].taken,
        )
        for plan in plans
    ]
    planned = {plan.harvest_class for plan in plans}
    for unplanned in sorted({kind for kind, _sex in taken} - planned):
        number = sum(many for (kind, _sex), many in taken.items() if kind == unplanned)
        lines.append(PlanLine(harvest_class=unplanned, sex="", counted=None, taken=number))
    return tuple(lines)


def _hunter_days(land: Property, year: int) -> int:
    first_on, next_on = season_year_days(year, land)
    return (
        Sit.objects.filter(
            property=land,
            local_date__range=(first_on, next_on - timedelta(days=1)),
            state__in=HUNTED,
        )
        .order_by()
        .values("person_id", "local_date")
        .distinct()
        .count()
    )


def _seen(land: Property, year: int) -> SexRatio:
    first_on, next_on = season_year_days(year, land)
    rows = (
        Sighting.objects.filter(
            report__sit__property=land,
            report__sit__local_date__range=(first_on, next_on - timedelta(days=1)),
        )
        .order_by()
        .values_list("sex")
        .annotate(number=Sum("count"))
    )
    by_sex = dict(rows)
    return sex_ratio(
        by_sex.get(DeerSex.BUCK, 0), by_sex.get(DeerSex.DOE, 0), by_sex.get(DeerSex.UNKNOWN, 0)
    )


def _weights(land: Property, year: int) -> tuple[WeightOfAge, ...]:
    begins_at, ends_at = season_year_span(year, land)
    settings = harvest_settings_of(land)
    rows = Harvest.objects.filter(property=land, taken_at__gte=begins_at, taken_at__lt=ends_at)
    return weights_by_age(
        [
            Weighed(sex=sex, age_years=age, dressed_weight_kg=weight)
            for sex, age, weight in rows.values_list("sex", "age_years", "dressed_weight_kg")
            if weight is not None
        ],
        fawn_until_years=settings.fawn_until_years,
        fewest=settings.fewest_for_mean,
    )
