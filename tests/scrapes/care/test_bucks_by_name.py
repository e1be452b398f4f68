"""A buck that was taken and named as in the pictures: a review knows which visits were his."""

from datetime import timedelta

from scheduling.sits.models import Harvest
from scrapes.cameras.models import Observation
from tests.cast import NOW
from tests.scrapes.care.test_bucks_of_no_name import answer_about_bucks, hung, reviewed

__all__ = ["hung"]


def test_a_taken_buck_named_in_the_pictures_explains_the_visits_he_made(cast, hung):
    Observation.objects.filter(deployment__scrape=hung.scrape).update(individual="Crooked brow")
    Harvest.objects.create(
        property=cast.north,
        person=cast.member,
        harvest_class="antlered",
        individual="Crooked brow",
        taken_at=NOW - timedelta(days=21),
    )

    answer = answer_about_bucks(reviewed(cast, hung))

    assert answer["holds"] is True
    assert answer["sentence"].startswith("Crooked brow, taken since")


def test_a_buck_that_never_came_here_explains_nothing(cast, hung):
    Observation.objects.filter(deployment__scrape=hung.scrape).update(individual="Crooked brow")
    Harvest.objects.create(
        property=cast.north,
        person=cast.member,
        harvest_class="antlered",
        individual="Somebody else",
        taken_at=NOW - timedelta(days=21),
    )

    assert answer_about_bucks(reviewed(cast, hung))["holds"] is False
