"""An incident has something mended: one errand, in the manager's words, and the log hears of it."""

import pytest

from coop.outbox import services as outbox
from coop.outbox.models import Fact
from properties.incidents.models import FollowUp, Incident
from properties.incidents.services import ask_for_errand
from scheduling.errands.life_services import finish_errand
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.walk_queries import errand_walk
from tests.cast import NOW, make_stand


@pytest.fixture
def incident(cast):
    return Incident.objects.create(
        property=cast.north,
        kind="open_gate",
        happened_at=NOW,
        longitude=cast.north.longitude,
        latitude=cast.north.latitude,
        what="Otto left it open again.",
    )


def ask(cast, incident, words="Hang a new chain on the lower gate."):
    ask_for_errand(actor=cast.actor(cast.manager), incident=incident, words=words, now=NOW)
    outbox.drain(now=NOW)


def test_an_errand_opens_once_with_the_managers_words_alone(cast, incident):
    ask(cast, incident)
    ask(cast, incident)

    errand = Errand.objects.get()
    assert (errand.kind, errand.incident, errand.state) == (ErrandKind.MEND, incident, "open")
    assert errand.reason == "Hang a new chain on the lower gate."
    seen = cast.client(cast.member).get("/api/v1/errands/").content.decode()
    assert "Hang a new chain" in seen
    assert "Otto" not in seen


def test_its_place_is_the_incidents_point_else_the_stand_it_is_about(cast, incident):
    ask(cast, incident)
    at_stand = Incident.objects.create(
        property=cast.north,
        kind="damage",
        happened_at=NOW,
        place_words="at the ladder",
        stand=make_stand(cast.north, "Oak", latitude=cast.north.latitude + 0.004),
        what="A rung is broken.",
    )
    ask(cast, at_stand, "Replace the rung.")
    nowhere = Incident.objects.create(
        property=cast.north, kind="damage", happened_at=NOW, place_words="creek lane", what="Ruts."
    )
    ask(cast, nowhere, "Fill the ruts.")

    walk = errand_walk(cast.north, on=NOW.date(), now=NOW)

    assert {(stop.longitude, stop.latitude) for stop in walk.stops} == {
        (cast.north.longitude, cast.north.latitude),
        (at_stand.stand.longitude, at_stand.stand.latitude),
    }
    assert [errand.reason for errand in walk.without_place] == ["Fill the ruts."]


def test_when_it_is_done_the_incidents_log_says_so_once(cast, incident):
    ask(cast, incident)
    member = cast.actor(cast.member)

    finish_errand(actor=member, errand=Errand.objects.get(), note="New chain.", now=NOW)
    outbox.drain(now=NOW)
    outbox.handle_again(facts=_facts(), now=NOW)
    outbox.drain(now=NOW)

    assert Errand.objects.get().state == ErrandState.DONE
    assert FollowUp.objects.get().words == "Mended by Mia Member. New chain."
    incident.refresh_from_db()
    assert incident.state == "followed_up"


def _facts():
    """The fact of the errand, as if it had not been handled."""
    Fact.objects.filter(topic="errand.done").update(handled_at=None, failed_at=NOW)
    return Fact.objects.filter(topic="errand.done")
