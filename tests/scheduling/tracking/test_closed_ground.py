"""Ground closed while a deer is tracked: nobody is kept from looking, everybody is told."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coop.outbox.models import Message
from properties.land.models import Closure
from properties.land.services import close_property, lift_closure
from scheduling.sits.closed_ground import outcome_of
from scheduling.tracking.closed_ground import ground_closed
from scheduling.tracking.models import Tracker
from tests.cast import square
from tests.scheduling.sits.stage import DAY, facts_handled, make_guest

pytestmark = pytest.mark.django_db


@pytest.fixture
def tracking(evening):
    return evening.opened()


def close(evening, **more):
    return close_property(
        actor=evening.cast.actor(evening.cast.landowner),
        land=evening.cast.north,
        **{"first_on": DAY, "last_on": DAY, "reason": "Burning", "purpose": "burn", **more},
        now=evening.at,
    )


def told():
    rows = Message.objects.filter(once_key__startswith="closed-while-tracking")
    return sorted(rows.values_list("recipient", flat=True))


def test_whoever_is_on_foot_is_told_at_once_to_leave_and_once_only(evening, tracking):
    evening.join(tracking)
    closure = close(evening)

    facts_handled(now=evening.at)

    (letter,) = Message.objects.filter(once_key__startswith="closed-while-tracking")
    assert (letter.recipient, letter.urgent) == (evening.ben.email, True)
    assert letter.subject == "North has been closed while you are on foot there"
    assert "The ground is closed until the end of" in letter.text
    assert "Burning" in letter.text
    assert "Leave the closed ground now" in letter.text
    # A fact may be handed over twice.
    ground_closed({"closure": str(closure.id)}, evening.at + timedelta(minutes=1))
    assert told() == [evening.ben.email]


def test_somebody_from_outside_is_told_through_the_hunter_and_a_guest_with_the_host(
    evening, tracking
):
    evening.join(tracking, evening.mia, name="Dora Dog", phone="555-0177")
    guest = make_guest(evening.ben)
    evening.join(tracking, evening.ben, person=str(guest.id))
    close(evening)

    facts_handled(now=evening.at)

    addresses = {evening.mia.email, evening.ben.email, guest.email} - {""}
    assert told() == sorted(addresses)
    letter = Message.objects.get(
        recipient=evening.mia.email, once_key__startswith="closed-while-tracking"
    )
    assert letter.subject == "North has been closed while Dora Dog is on foot there"
    assert "555-0177" not in letter.text


def test_whoever_has_left_is_not_told(evening, tracking):
    tracker = evening.join(tracking).json()["id"]
    evening.call(evening.ben, "post", f"trackers/{tracker}/leave/")
    close(evening)
    facts_handled(now=evening.at)
    assert told() == []


def test_a_closure_lifted_meanwhile_tells_no_tracker(evening, tracking):
    evening.join(tracking)
    closure = close(evening)
    landowner = evening.cast.actor(evening.cast.landowner)
    lift_closure(actor=landowner, closure=closure, now=evening.at)
    facts_handled(now=evening.at)
    assert told() == []


@pytest.mark.parametrize(
    ("more", "is_told"),
    [
        ({"session_kind": "evening"}, True),
        ({"session_kind": "morning"}, False),
        ({"part": square(-91.5, 43.2)}, True),
        ({"first_on": DAY + timedelta(days=1), "last_on": DAY + timedelta(days=1)}, False),
    ],
)
def test_it_tells_whom_it_meets_before_they_said_to_be_back(evening, tracking, more, is_told):
    evening.join(tracking)
    close(evening, **more)
    facts_handled(now=evening.at)
    assert told() == ([evening.ben.email] if is_told else [])


def test_a_closure_of_tomorrow_tells_whoever_will_be_out_past_midnight(evening, tracking):
    evening.join(tracking, hours=11)
    tomorrow = DAY + timedelta(days=1)
    close(evening, first_on=tomorrow, last_on=tomorrow)
    facts_handled(now=evening.at)
    assert told() == [evening.ben.email]

    (letter,) = Message.objects.filter(once_key__startswith="closed-while-tracking")
    assert letter.subject == "North will be closed while you are on foot there"
    days = f"from {tomorrow:%A %d %B} until the end of {tomorrow:%A %d %B %Y}"
    assert letter.text.startswith(f"The ground is closed {days}: Burning.")
    assert "Be off that ground before then" in letter.text
    assert " now" not in letter.text


def test_joining_on_closed_ground_is_allowed_and_says_what_is_closed_and_whom_to_ask(
    evening, tracking
):
    close(evening)

    answer = evening.join(tracking)

    assert answer.status_code == 201
    closed, ask = answer.json()["closed"]
    assert closed == f"The ground is closed until the end of {DAY:%A %d %B %Y}: Burning."
    assert "ask the landowner first" in ask
    shown = evening.call(evening.ben, "get", f"trackers/{answer.json()['id']}/").json()
    assert shown["closed"] == [closed, ask]


def test_opening_on_closed_ground_is_allowed_and_its_advice_says_so_until_it_ends(evening):
    close(evening, part=square(-91.5, 43.2))

    answer = evening.open()

    assert answer.status_code == 201
    closed, ask = answer.json()["advice"]["closed"]
    assert closed.startswith("A part of the ground is closed until the end of")
    assert "ask the landowner first" in ask
    evening.end(answer.json()["id"], "not_found")
    path = f"trackings/{answer.json()['id']}/"
    assert evening.call(evening.mia, "get", path).json()["advice"]["closed"] == []


def test_open_ground_and_a_lifted_closure_are_not_called_closed(evening, tracking):
    assert evening.join(tracking).json()["closed"] == []
    Closure.objects.create(
        property=evening.cast.north, first_on=DAY, last_on=DAY, reason="Burn", lifted_at=evening.at
    )
    assert (
        evening.call(evening.mia, "get", f"trackings/{tracking}/").json()["advice"]["closed"] == []
    )
    tracker = Tracker.objects.get()
    assert evening.call(evening.ben, "get", f"trackers/{tracker.id}/").json()["closed"] == []


def test_many_trackers_ask_once_for_what_is_closed(evening, tracking):
    close(evening)
    evening.join(tracking, evening.mia, name="Dora Dog")

    def asked():
        with CaptureQueriesContext(connection) as seen:
            rows = evening.call(evening.mia, "get", "trackers/").json()
        assert all(row["closed"] for row in rows["results"])
        return len(seen), len(rows["results"])

    one = asked()
    for name in ("Hal Handler", "Ida Handler"):
        evening.join(tracking, evening.mia, name=name)
    three = asked()
    assert (one[1], three[1]) == (1, 3)
    assert three[0] == one[0]


def test_the_outcome_counts_trackers_and_their_letters_also_after_they_have_left(evening, tracking):
    tracker = evening.join(tracking).json()["id"]
    closure = close(evening)
    path = f"closures/{closure.id}/outcome/"

    def outcome():
        return evening.call(evening.cast.landowner, "get", path).json()

    assert outcome()["told_while_out"] == 0
    facts_handled(now=evening.at)

    # Mia is checked in at Oak, Ben is on foot; Ben's own sit at Creek was cancelled.
    seen = outcome()
    assert (seen["told_while_out"], seen["cancelled"]) == (2, 1)
    assert seen["letters_waiting"] + seen["letters_sent"] == 3
    assert [row["what"] for row in seen["sits"]].count("told_while_out") == 1
    later = evening.at + timedelta(minutes=9)
    evening.call(evening.ben, "post", f"trackers/{tracker}/leave/", at=later)
    assert outcome()["told_while_out"] == 2
    evening.join(tracking, at=later)
    assert outcome()["told_while_out"] == 2


def test_the_outcome_does_not_count_whom_a_later_word_brought_into_the_closed_days(
    evening, tracking
):
    ben = evening.join(tracking).json()["id"]
    tomorrow = DAY + timedelta(days=1)
    closure = close(evening, first_on=tomorrow, last_on=tomorrow)
    facts_handled(now=evening.at)
    assert outcome_of(closure).met_beside == ()

    later = {"back_by": (evening.at + timedelta(hours=11)).isoformat()}
    answer = evening.call(evening.ben, "post", f"trackers/{ben}/back-later/", later)

    assert answer.json()["closed"], "the answer tells them"
    assert outcome_of(closure).met_beside == ()


def test_whoever_is_checked_in_and_on_foot_counts_once_in_the_outcome(evening, tracking):
    evening.join(tracking, evening.mia)
    evening.join(tracking, evening.mia, name="Dora Dog")
    closure = close(evening)
    facts_handled(now=evening.at)
    path = f"closures/{closure.id}/outcome/"
    # Mia at Oak and on foot, and Dora.
    assert evening.call(evening.cast.landowner, "get", path).json()["told_while_out"] == 2
