"""The demo tells of trouble, keeps what was reported from the landowner, and lists the weeks."""

import pytest

from coop.demo.run import Demo
from coop.demo.trouble import TROUBLE, write_trouble
from properties.incidents.models import Equipment, Incident
from scheduling.worklist.models import WorkItem

pytestmark = pytest.mark.django_db


def test_incidents_stand_in_every_state_and_one_was_released(demo: Demo) -> None:
    incidents = Incident.objects.filter(property__in=demo.cooperative.lands.values())

    assert incidents.count() == len(TROUBLE)
    assert set(incidents.values_list("state", flat=True)) == {"open", "followed_up", "closed"}
    assert incidents.exclude(told_at=None).count() == 1
    assert Equipment.objects.get(state="stolen").theft.kind == "theft"
    assert write_trouble(demo.cooperative, demo.calendar) == 0


def test_each_property_has_its_list_and_written_again_it_is_the_same(demo: Demo) -> None:
    demo.write_lists()
    counts = [
        WorkItem.objects.filter(property=land).count() for land in demo.cooperative.lands.values()
    ]
    demo.write_lists()

    assert min(counts) > 3
    assert sum(counts) == WorkItem.objects.count()
