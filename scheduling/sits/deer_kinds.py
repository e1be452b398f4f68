"""How deer are told apart, in what was seen, taken and planned."""

from django.db import models


class DeerSex(models.TextChoices):
    BUCK = "buck"
    DOE = "doe"
    UNKNOWN = "unknown"


KNOWN_SEXES = [(sex.value, sex.value) for sex in (DeerSex.BUCK, DeerSex.DOE)]


class AgeClass(models.TextChoices):
    FAWN = "fawn"
    YEARLING = "yearling"
    ADULT = "adult"
    UNKNOWN = "unknown"


class HarvestClass(models.TextChoices):
    ANTLERED = "antlered"
    ANTLERLESS = "antlerless"
