"""Season reports that an actor may see, and what the next edition builds on."""

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped_to_cooperatives
from coop.reports.models import SeasonReport
from properties.land.models import Cooperative
from properties.land.queries import cooperatives_visible_to

# The pages and the paper are large; lists and figures do without them.
_HEAVY = ("html", "pdf")


def season_reports_visible_to(
    *, actor: Actor, action: Action = Action.SEASON_REPORT_READ
) -> QuerySet[SeasonReport]:
    return scoped_to_cooperatives(SeasonReport.objects.all(), actor=actor, action=action).defer(
        *_HEAVY
    )


def readable_cooperatives(*, actor: Actor) -> QuerySet[Cooperative]:
    return cooperatives_visible_to(actor=actor)


def latest_edition(*, cooperative: Cooperative, season_year: int) -> SeasonReport | None:
    """The newest edition of a season, or None when none was written."""
    editions = SeasonReport.objects.filter(cooperative=cooperative, season_year=season_year)
    return editions.defer(*_HEAVY).order_by("-edition").first()
