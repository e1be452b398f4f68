"""Letters about harvest: a class is filled, a plan is exceeded, places come and go."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from scheduling.sits import notices
from scheduling.sits.harvest_arithmetic import Counted
from scheduling.sits.harvest_models import HarvestPlace
from scheduling.sits.harvest_words import NOTICE, class_words
from scheduling.sits.models import Harvest, HarvestPlan, Sit, SitState


def tell_over_plan(harvest: Harvest, plan: HarvestPlan, counted: Counted, now: datetime) -> None:
    """Tell the managers that more was taken than planned."""
    land, deer = plan.property, f"{plan.harvest_class}{f' {plan.sex}' if plan.sex else ''}"
    notices.tell_managers(
        property_id=land.id,
        cooperative_id=land.cooperative_id,
        once_key=f"harvest-over-plan:{plan.id}:{counted.taken}",
        subject=f"{land.name}: {counted.taken} {deer} taken, {plan.planned} planned",
        text=(
            f"With the {deer} deer taken by {harvest.person.name}, {counted.taken} are "
            f"recorded on {land.name} in the season's year {plan.season_year}; the property "
            f"planned {plan.planned}. The deer is counted. Check your state's reporting rules."
        ),
        now=now,
    )


def tell_filled(plan: HarvestPlan, counted: Counted, now: datetime) -> None:
    """Tell at once whoever is on the land, and the managers, that a class is filled."""
    land, deer = plan.property, class_words(plan.harvest_class, plan.sex)
    since = "" if plan.filled_at is None else plan.filled_at.isoformat()
    subject = f"{land.name}: the plan for {deer} is filled"
    text = (
        f"{counted.at_most} of {plan.planned} {deer} planned on {land.name} in the season's year "
        f"{plan.season_year} are recorded. By the property's plan no more are to be taken.\n\n"
        f"{NOTICE}"
    )
    key = f"harvest-filled:{plan.id}:{since}"
    out = Sit.objects.filter(property=land, state=SitState.CHECKED_IN)
    for sit in out.select_related("person", "host", "outfitter", "property"):
        notices.tell_seat_holder(
            sit, once_key=f"{key}:{sit.id}", subject=subject, text=text, now=now, urgent=True
        )
    notices.tell_managers(
        property_id=land.id,
        cooperative_id=land.cooperative_id,
        once_key=key,
        subject=subject,
        text=text,
        now=now,
        urgent=True,
    )


def tell_of_places(changed: Iterable[HarvestPlace], now: datetime) -> None:
    """One letter to each person about each plan: for which sits a place is kept now or no more.

    Urgent where one of the sits has begun or begins within the day. Whoever is out while a
    class is filled hears that by the letter about the class.
    """
    together: dict[tuple[object, object, bool], list[HarvestPlace]] = defaultdict(list)
    for place in changed:
        if place.plan.filled_at is not None and place.sit.state == SitState.CHECKED_IN:
            continue
        together[place.sit.person_id, place.plan_id, place.held].append(place)
    for places in together.values():
        _tell_of_places(sorted(places, key=lambda place: place.sit.starts_at), now)


def _tell_of_places(places: list[HarvestPlace], now: datetime) -> None:
    first = places[0]
    deer = class_words(first.plan.harvest_class, first.plan.sex)
    sits = "\n".join(
        f"- {place.sit.stand.name}, {notices.session_words(place.sit)}" for place in places
    )
    what = (
        f"A place in the property's plan for {deer} is now kept for {first.sit.person.name} in:"
        if first.held
        else f"No place in the property's plan for {deer} is kept any more for "
        f"{first.sit.person.name}. {deer.capitalize()} are not theirs to take in:"
    )
    notices.tell_seat_holder(
        first.sit,
        once_key=f"harvest-place:{first.id}:{first.held}:{now.isoformat()}",
        subject=f"{first.plan.property.name}: "
        + (f"a place for {deer} is kept" if first.held else f"no place for {deer}"),
        text=f"{what}\n\n{sits}\n\nThe sits themselves stand. {NOTICE}",
        now=now,
        urgent=(first.sit.starts_at - now).total_seconds() < 86_400,
    )
