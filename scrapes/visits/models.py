"""What visits taught about the season."""

from django.db import models

from coop.records import Record
from properties.land.models import Cooperative


class SeasonFit(Record):
    """The season's curve as a cooperative's visits up to ``last_on`` taught it.

    ``curve`` holds the seven figures of the season's settings as fitted, ``draws`` others that may
    as well be true, ``figures`` each with its limits, ``band`` the curve with its limits day by
    day, ``weeks`` what was counted, by week from the peak. ``is_enough`` tells whether it
    is expected from ``fitted_on`` on, or shown only.
    """

    cooperative = models.ForeignKey(
        Cooperative, on_delete=models.CASCADE, related_name="season_fits"
    )
    fitted_on = models.DateField()
    last_on = models.DateField()
    visits = models.PositiveIntegerField()
    camera_nights = models.FloatField()
    scrapes = models.PositiveIntegerField()
    dispersion = models.FloatField()
    confidence = models.FloatField()
    is_enough = models.BooleanField()
    curve = models.JSONField()
    draws = models.JSONField()
    figures = models.JSONField()
    band = models.JSONField()
    weeks = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["cooperative", "fitted_on"], name="one_season_fit_of_a_cooperative_a_day"
            ),
        ]
