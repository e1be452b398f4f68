"""Visits of a property's scrapes, read from what its cameras recorded."""

import calendar
from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from properties.land.models import Property
from scrapes.sites.models import Scrape
from scrapes.sites.queries import scrapes_visible_to
from scrapes.visits.figures import ScrapeVisits, figures_of
from scrapes.visits.scrape_records import (
    ScrapeRecord,
    SettingsInForce,
    records_of,
    settings_in_force,
)


def visited_scrapes_visible_to(
    *, actor: Actor, action: Action = Action.VISIT_READ
) -> QuerySet[Scrape]:
    return scrapes_visible_to(actor=actor, action=action)


def cooperative_records(
    land: Property, *, first_on: date, last_on: date, now: datetime, settings: SettingsInForce
) -> tuple[ScrapeRecord, ...]:
    """Records of every scrape of the property's cooperative: its own and those it is held
    against."""
    lands = list(
        Property.objects.filter(cooperative_id=land.cooperative_id, retired_at=None).order_by("id")
    )
    if land.id not in {one.id for one in lands}:
        lands.append(land)
    for one in lands:
        # One cooperative, read with the property already: its settings are a layer of each.
        one.cooperative = land.cooperative
    return records_of(lands, first_on=first_on, last_on=last_on, now=now, settings=settings)


def scrape_visits(
    land: Property, *, first_on: date, last_on: date, now: datetime
) -> tuple[ScrapeVisits, ...]:
    """Figures of each scrape of a property over local dates, both included, by name.

    Nothing later than ``now`` counts. Raises ValueError when the dates are turned round.
    """
    if last_on < first_on:
        raise ValueError("the last day lies before the first")
    settings = settings_in_force(land, now=now)
    begins_on = first_on - timedelta(days=settings.visits.record_days)
    records = cooperative_records(
        land, first_on=begins_on, last_on=last_on, now=now, settings=settings
    )
    return figures_of(records, first_on=first_on, property_id=land.id, settings=settings)


def property_month_visits(
    land: Property, *, month: date, now: datetime
) -> tuple[ScrapeVisits, ...]:
    """The same for the calendar month in which ``month`` lies."""
    first = month.replace(day=1)
    last = first.replace(day=calendar.monthrange(first.year, first.month)[1])
    return scrape_visits(land, first_on=first, last_on=last, now=now)
