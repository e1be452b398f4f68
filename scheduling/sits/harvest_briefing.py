"""What the plans of harvest leave to one sit, for its briefing."""

from typing import Any

from properties.land.years import year_of
from scheduling.sits.harvest_models import HarvestPlace
from scheduling.sits.harvest_queries import counted_plans
from scheduling.sits.harvest_words import PlaceFacts, place_sentence
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import HarvestPlan, Sit


def places_of_sit(sit: Sit) -> list[dict[str, Any]]:
    """One row for each plan of the sit's season, by class and sex."""
    first_month = sit_settings_of(sit.property).season_year_first_month
    plans = list(
        HarvestPlan.objects.filter(
            property=sit.property_id,
            season_year=year_of(sit.local_date, first_month=first_month),
        )
        .select_related("property__cooperative")
        .order_by("harvest_class", "sex")
    )
    counts = counted_plans(plans)
    places = {place.plan_id: place for place in HarvestPlace.objects.filter(sit=sit)}
    found = []
    for plan in plans:
        place = places.get(plan.id)
        facts = PlaceFacts(
            harvest_class=plan.harvest_class,
            sex=plan.sex,
            planned=plan.planned,
            left=counts[plan.id].left,
            is_kept=plan.places_reserved,
            wanted=place is None or place.wanted,
            held=place is not None and place.held,
        )
        found.append(
            {
                "harvest_class": facts.harvest_class,
                "sex": facts.sex,
                "left": facts.left,
                "is_yours": facts.is_yours,
                "sentence": place_sentence(facts),
            }
        )
    return found
