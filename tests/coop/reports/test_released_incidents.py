"""A released incident stands in the landowner's month by itself: kind, day, what was done."""

from datetime import timedelta

import pytest

from coop.reports.services import write_month
from properties.incidents.models import Incident
from properties.incidents.services import release_incident, take_back
from tests.coop.reports.months import AFTER, OCTOBER

pytestmark = pytest.mark.usefixtures("without_paper")
DONE = "A lock was added to the ladder at the creek."


@pytest.fixture
def incident(rich):
    return Incident.objects.create(
        property=rich.land,
        kind="theft",
        happened_at=AFTER.replace(month=10, day=20),
        place_words="at the spur",
        what="Otto took the ladder, I am sure of it.",
    )


def noted(report):
    return [note for note in report.figures["incidents"]["notes"] if "theft" in note["what"]]


def test_what_is_not_released_is_not_told(rich, writer, incident):
    report = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report

    assert noted(report) == []
    assert "theft" not in report.html.lower()


def test_what_is_released_is_told_in_the_short_form_and_taken_back_again(rich, writer, incident):
    release_incident(actor=writer, incident=incident, done=DONE, now=AFTER)

    told = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report

    assert noted(told) == [
        {
            "on": "2025-10-20",
            "topic": "incident",
            "what": "A theft was reported.",
            "done": DONE,
        }
    ]
    assert DONE in told.html
    assert "Otto" not in told.html + str(told.figures)

    take_back(actor=writer, incident=incident, now=AFTER)
    later = AFTER + timedelta(days=1)
    corrected = write_month(actor=writer, land=rich.land, month=OCTOBER, now=later).report

    assert (corrected.edition, noted(corrected)) == (2, [])


def test_an_open_gate_and_damage_stand_under_their_own_headings(rich, writer, incident):
    for kind, topic in (("open_gate", "gate"), ("damage", "damage"), ("injury", "incident")):
        Incident.objects.update(kind=kind, told_done=f"Done about {kind}.", told_at=AFTER)
        report = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report
        topics = {
            note["topic"]
            for note in report.figures["incidents"]["notes"]
            if note["done"] == f"Done about {kind}."
        }
        assert topics == {topic}
