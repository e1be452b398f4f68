"""Scrapes that an actor may see."""

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from scrapes.sites.models import Scrape


def scrapes_visible_to(*, actor: Actor, action: Action = Action.SCRAPE_READ) -> QuerySet[Scrape]:
    return scoped(Scrape.objects.all(), actor=actor, action=action)
