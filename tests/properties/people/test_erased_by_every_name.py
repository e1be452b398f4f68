"""Whoever is erased goes by every name they had, and takes nobody else along."""

from uuid import uuid4

import pytest
import time_machine

from coop.access.models import User
from coop.audit.models import AuditEvent
from coop.jobs import services as jobs
from coop.jobs.models import JobLogLine
from coop.outbox.models import Message, MessageState
from coop.outbox.services import write_message
from properties.emergency.models import EmergencySheet
from properties.land.services import close_property
from properties.people import erasure
from properties.people.models import Person
from properties.people.services import change_person
from properties.stands.services import close_stand
from scheduling.rotation.models import RotationPlan
from scheduling.sits.closed_ground import outcome_of
from tests.cast import NOW, Cast, make_member, make_stand
from tests.coop.stored_words import holding
from tests.properties.people.erasing import erased, left
from tests.scheduling.sits.stage import DAY, booked, facts_handled, make_stage


@pytest.fixture(autouse=True)
def at_now(db):
    with time_machine.travel(NOW, tick=False):
        yield


def sent(cast: Cast, *, recipient: str = "x@y.example", **words: str) -> Message:
    """A letter of the cooperative that has left."""
    letter = write_message(
        once_key=uuid4().hex,
        recipient=recipient,
        subject=words.get("subject", "News"),
        text=words.get("text", ""),
        html=words.get("html", ""),
        cooperative_id=cast.cooperative.id,
        now=NOW,
    )
    Message.objects.filter(id=letter.id).update(state=MessageState.SENT)
    return letter


def enter_season(cast: Cast, person: Person) -> None:
    """By the API, which signs with the account's name."""
    answer = cast.client(person).post(
        "/api/v1/seasons/",
        {
            "property": str(cast.north.id),
            "name": "Late",
            "first_on": "2026-01-01",
            "last_on": "2026-01-09",
            "weapons": ["bow"],
            "source_url": "https://state.example/",
        },
    )
    assert answer.status_code == 201, answer.data


def renamed(cast: Cast, person: Person, name: str) -> Person:
    changed = change_person(
        actor=cast.actor(cast.coordinator), person=person, changes={"name": name}, now=NOW
    )
    cast.manager.refresh_from_db()
    return changed


def test_a_name_and_an_address_of_before_go_too(cast):
    person, former, was_at = cast.manager, cast.manager.name, cast.manager.email
    enter_season(cast, person)
    sent(cast, text=f"{former} closed the Oak.")
    sent(cast, recipient=was_at, text="About you")
    person = renamed(cast, person, "Maxine Newname")
    User.objects.filter(id=person.user_id).update(email="now@a.example")
    change_person(
        actor=cast.actor(cast.coordinator),
        person=person,
        changes={"email": "now@a.example"},
        now=NOW,
    )
    person.refresh_from_db()
    assert {"Season.entered_by", "Message.text", "Message.recipient"} <= holding({former, was_at})

    left(cast, person)
    erased(cast, person)

    assert holding({former, was_at, "Maxine Newname", "now@a.example"}) == set()


def test_a_former_name_that_somebody_else_has_by_now_stays_theirs(cast):
    person, former = cast.other_member, cast.other_member.name
    renamed(cast, person, "Olive Newname")
    person.refresh_from_db()
    User.objects.filter(id=person.user_id).update(name="Olive Newname")
    namesake = Person.objects.create(cooperative=cast.cooperative, name=former)
    letter = sent(cast, text=f"For {namesake.name}")

    left(cast, person)
    erased(cast, person)

    letter.refresh_from_db()
    assert letter.text == f"For {former}"


def test_an_account_without_a_name_signs_by_its_address_and_that_goes(cast):
    person = cast.manager
    User.objects.filter(id=person.user_id).update(name="")
    enter_season(cast, person)
    assert "Season.entered_by" in holding({person.email})

    left(cast, person)
    erased(cast, person)

    assert holding({person.email}) == set()
    assert cast.north.seasons.get(name="Late").entered_by == erasure.ERASED


def test_whoever_cancelled_somebody_elses_job_is_named_there_no_more(cast):
    run = jobs.enqueue(
        name="jobs.forget_old_runs",
        now=NOW,
        property_id=cast.north.id,
        requested_by_id=cast.coordinator.user_id,
    )
    jobs.cancel(actor=cast.actor(cast.manager), run=run, now=NOW)
    lines = JobLogLine.objects.filter(run=run).order_by("id")
    assert lines[1].text == f"cancelled by {cast.manager.name}"

    left(cast, cast.manager)
    erased(cast, cast.manager)

    assert [line.text for line in lines] == [
        f"asked for by {cast.coordinator.name}",
        f"cancelled by {erasure.ERASED}",
    ]


def test_somebody_of_a_longer_name_and_address_loses_nothing(cast):
    ann = make_member(cast.cooperative, "Ann Lee", cast.north)
    Person.objects.filter(id=ann.id).update(email="ann@a.example")
    ann.refresh_from_db()
    leeson = make_member(cast.cooperative, "Ann Leeson", cast.north)
    coordinator = cast.actor(cast.coordinator)
    change_person(actor=coordinator, person=leeson, changes={"email": "joann@a.example"}, now=NOW)
    told = AuditEvent.objects.latest("id")
    stand = make_stand(cast.north, "Far oak")
    close_stand(actor=coordinator, stand=stand, reason="Ann Leeson saw ice.", now=NOW)
    closed = AuditEvent.objects.latest("id")
    letter = sent(cast, subject="About Ann Leeson", text="Ann Leeson is late.")

    left(cast, ann)
    erased(cast, ann)

    for row in (told, closed, letter):
        row.refresh_from_db()
    assert (told.after["email"], told.emptied_at) == ("joann@a.example", None)
    assert (closed.reason, closed.emptied_at) == ("Ann Leeson saw ice.", None)
    assert (letter.subject, letter.text) == ("About Ann Leeson", "Ann Leeson is late.")


def test_a_letter_whose_page_alone_names_them_is_emptied_however_html_writes_the_name(cast):
    pat = make_member(cast.cooperative, "Pat O'Neil", cast.north)
    letter = sent(cast, text="See the page.", html="<p>Pat O&#x27;Neil sat.</p>")

    left(cast, pat)
    erased(cast, pat)

    letter.refresh_from_db()
    assert (letter.text, letter.html) == ("", "")


def test_letters_to_their_address_in_another_case_are_theirs(cast):
    person = cast.other_member
    letter = sent(cast, recipient=person.email.upper(), text="About you")

    left(cast, person)
    erased(cast, person)

    letter.refresh_from_db()
    assert (letter.text, letter.recipient.endswith(".invalid")) == ("", True)


def test_a_closure_goes_on_counting_whom_it_told(cast):
    stage = make_stage(cast)
    booked(stage)
    closure = close_property(
        actor=cast.actor(cast.manager),
        land=cast.north,
        first_on=DAY,
        last_on=DAY,
        reason="Logging",
        purpose="logging",
        now=NOW,
    )
    facts_handled()
    Message.objects.update(state=MessageState.SENT, sent_at=NOW)
    before = [each.letters for each in outcome_of(closure).met]
    assert [letter.state for (letter,) in before] == ["sent"]

    left(cast, cast.member)
    erased(cast, cast.member)

    assert [each.letters for each in outcome_of(closure).met] == before
    assert holding({cast.member.email}) == set()


def test_what_kept_a_wish_out_of_a_plan_names_them_no_more(cast):
    person = cast.other_member
    kept_out = f"The paper 'licence' of {person.name} is valid until 21 Nov 2025."
    plan = RotationPlan.objects.create(
        cooperative=cast.cooperative,
        first_on=NOW.date(),
        last_on=NOW.date(),
        fingerprint="0",
        problem={},
        result={},
        explanations=[{"person": str(person.id), "sits": 1, "kept_out": [kept_out]}],
        computed_at=NOW,
    )

    left(cast, person)
    erased(cast, person)

    plan.refresh_from_db()
    told = kept_out.replace(person.name, erasure.ERASED)
    assert plan.explanations == [{"person": str(person.id), "sits": 1, "kept_out": [told]}]


def test_whoever_holds_keys_by_an_emergency_sheet_has_to_hand_them_on_first(cast):
    person = cast.other_member
    sheet = EmergencySheet.objects.create(
        property=cast.south,
        key_holders=[{"name": person.name, "phone": "555-0101", "keys": "gates"}],
    )
    left(cast, person)

    with pytest.raises(erasure.StillNeeded, match=cast.south.name):
        erased(cast, person)

    EmergencySheet.objects.filter(id=sheet.id).update(key_holders=[])
    assert erased(cast, person).erased_at == NOW
