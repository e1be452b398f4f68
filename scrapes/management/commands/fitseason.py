"""Fit the season's curve now, in this process."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from coop.access.actors import system_actor
from properties.land.models import Cooperative
from scrapes.visits.season_curve_services import fit_cooperatives_season


class Command(BaseCommand):
    help = (
        "Fit the season's curve of every cooperative to the visits of its scrapes, held against "
        "the curve that was set. Keeps one fit a cooperative and day; run again on the same day "
        "it takes the place of the one before. Ends with how many were fitted, how many of them "
        "are expected from now on, how many tell too little, and how many had nothing to fit."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        now = timezone.now()
        in_force = too_few = nothing = 0
        for cooperative in Cooperative.objects.order_by("name", "id"):
            row = fit_cooperatives_season(
                actor=system_actor("fitseason"), cooperative=cooperative, now=now
            )
            if row is None:
                nothing += 1
                self.stdout.write(f"{cooperative.name}: nothing to fit.")
                continue
            in_force += row.is_enough
            too_few += not row.is_enough
            lead = next(one for one in row.figures if one["name"] == "lead_days")
            self.stdout.write(
                f"{cooperative.name}: {row.visits} visits at {row.scrapes} scrapes; use highest "
                f"{lead['value']:.1f} days before the peak ({lead['low']:.1f} to "
                f"{lead['high']:.1f}); {'expected from now on' if row.is_enough else 'too few'}."
            )
        total = in_force + too_few + nothing
        self.stdout.write(
            f"{total} cooperatives = {in_force} expected + {too_few} too few + {nothing} nothing."
        )
