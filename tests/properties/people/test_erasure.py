"""Somebody who left is erased on request; sits, harvests and figures stay."""

from datetime import date, timedelta

import pytest
import time_machine
from django.apps import apps
from django.db import DatabaseError, IntegrityError, transaction

from coop.access.actors import system_actor
from coop.access.models import User
from coop.audit.models import AuditEvent
from coop.jobs import services as jobs
from coop.jobs.models import JobLogLine
from coop.outbox.models import Message, MessageState, NoticePreference
from coop.outbox.services import write_message
from properties.emergency.services import keep_note
from properties.gates.models import Gate
from properties.gates.services import set_code
from properties.incidents.models import Equipment, FollowUp
from properties.people import erasure
from properties.people.models import Paper, Person
from properties.people.services import change_member, create_paper
from properties.sessions.services import create_season
from properties.stands.services import close_stand, record_inspection
from scheduling.offers.kept import as_of
from scheduling.sits.calendar_models import CalendarFeed
from tests.cast import NOW, Cast, make_member, make_person, make_stand
from tests.coop.stored_words import holding, text_fields
from tests.properties.incidents.test_incidents_api import act, reported
from tests.properties.people.erasing import OWN_WORDS, erased, left
from tests.scheduling.sits.stage import booked, make_guest, make_stage


@pytest.fixture(autouse=True)
def at_now(db):
    with time_machine.travel(NOW, tick=False):
        yield


def asked(cast: Cast, caller: Person, person: Person, name: str = ""):
    body = {"name": name or person.name}
    return cast.client(caller).post(f"/api/v1/persons/{person.id}/erase/", body)


def a_year_of(cast: Cast, person: Person) -> None:
    """What a manager leaves behind them, by the services that write their name."""
    actor, land = cast.actor(person), cast.north
    stand = make_stand(land, "Far oak")
    record_inspection(
        actor=actor,
        stand=stand,
        inspected_on=NOW.date(),
        inspected_by="",
        passed=True,
        notes="",
        now=NOW,
    )
    close_stand(actor=actor, stand=stand, reason=f"{person.name} saw a crack.", now=NOW)
    create_season(
        actor=actor,
        land=land,
        fields={
            "name": "Late",
            "first_on": date(2026, 1, 1),
            "last_on": date(2026, 1, 9),
            "weapons": ["bow"],
            "source_url": "https://state.example/",
        },
        now=NOW,
    )
    gate = Gate.objects.create(
        property=land, name="West", longitude=-91.5, latitude=43.2, lock="code"
    )
    set_code(actor=actor, gate=gate, code="4711", holds_from=NOW.date(), now=NOW)
    keep_note(actor=actor, person_id=person.id, text="Bee stings.", now=NOW)
    CalendarFeed.objects.create(person=person, digest="theirs")
    NoticePreference.objects.create(email=person.email)
    for recipient in (person.email, cast.member.email):
        letter = write_message(
            once_key=f"to {recipient}",
            recipient=recipient,
            subject=f"For {person.name}",
            text=f"{person.name}, call {person.phone}",
            cooperative_id=cast.cooperative.id,
            now=NOW,
        )
        Message.objects.filter(id=letter.id).update(state=MessageState.SENT)
    jobs.enqueue(name="jobs.forget_old_runs", now=NOW, requested_by_id=person.user_id)


def test_nothing_stored_names_them_any_more(cast):
    person = cast.manager
    Person.objects.filter(id=person.id).update(**OWN_WORDS)
    person.refresh_from_db()
    words = {person.name, person.email, *OWN_WORDS.values()}
    a_year_of(cast, person)
    before = holding(words)
    assert {
        "AuditEvent.after",
        "AuditEvent.actor_name",
        "AuditEvent.reason",
        "GateCode.entered_by",
        "Inspection.inspected_by",
        "JobLogLine.text",
        "Message.recipient",
        "Message.text",
        "NoticePreference.email",
        "Person.vehicle",
        "Season.entered_by",
        "User.email",
    } <= before

    left(cast, person)
    erased(cast, person)

    # Words that somebody wrote about the ground are theirs who wrote them.
    assert holding(words) == {"Stand.closed_reason"}
    assert not User.objects.filter(id=person.user_id).exists()
    assert not Paper.objects.filter(person=person).exists()
    assert not CalendarFeed.objects.filter(person=person).exists()


def test_what_they_did_is_on_record_still_and_says_that_it_was_emptied(cast):
    person = cast.manager
    a_year_of(cast, person)
    account = str(person.user_id)
    theirs = AuditEvent.objects.filter(actor_id=account)
    did = list(theirs.order_by("id").values_list("action", "object_id", "recorded_at"))
    assert did

    left(cast, person)
    erased(cast, person)

    assert list(theirs.order_by("id").values_list("action", "object_id", "recorded_at")) == did
    assert set(theirs.values_list("actor_name", "emptied_at")) == {("", NOW)}
    last = AuditEvent.objects.latest("id")
    assert (last.action, last.object_id, last.actor_name) == (
        "person:erase",
        str(person.id),
        cast.coordinator.name,
    )
    assert last.after["name"] == erasure.ERASED


@pytest.mark.parametrize(
    "change",
    [
        {"reason": "rewritten", "emptied_at": NOW},
        {"reason": ""},
        {"after": {"name": "Somebody else"}, "emptied_at": NOW},
        {"action": "", "emptied_at": NOW},
        {"actor_id": "", "emptied_at": NOW},
    ],
)
def test_the_record_is_emptied_openly_and_never_made_to_say_anything_else(cast, change):
    close_stand(
        actor=cast.actor(cast.manager), stand=make_stand(cast.north, "Oak"), reason="Ice", now=NOW
    )
    event = AuditEvent.objects.latest("id")

    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        AuditEvent.objects.filter(id=event.id).update(**change)


def test_a_name_of_one_word_takes_nothing_of_the_ground_with_it(cast):
    person = make_member(cast.cooperative, "Oak", cast.north)
    stand = make_stand(cast.north, "Oak ladder")
    manager = cast.actor(cast.manager)
    record_inspection(
        actor=manager,
        stand=stand,
        inspected_on=NOW.date(),
        inspected_by="Oak",
        passed=True,
        notes="Oak is sound",
        now=NOW,
    )
    told = AuditEvent.objects.filter(action="stand:write", object_id=str(stand.id))
    close_stand(actor=manager, stand=stand, reason="Oak leans", now=NOW)

    left(cast, person)
    erased(cast, person)

    stand.refresh_from_db()
    assert (stand.name, stand.inspections.get().inspected_by) == ("Oak ladder", erasure.ERASED)
    assert stand.inspections.get().notes == "Oak is sound"
    assert told.latest("id").reason == "Oak leans"


def test_a_namesake_of_another_cooperative_loses_nothing(cast):
    foreign = cast.stranger.cooperative
    namesake = make_person(foreign, cast.manager.name)
    create_season(
        actor=system_actor(namesake.name),
        land=cast.foreign,
        fields={
            "name": "Bow",
            "first_on": date(2026, 1, 1),
            "last_on": date(2026, 1, 9),
            "weapons": ["bow"],
            "source_url": "https://state.example/",
        },
        now=NOW,
    )
    before = AuditEvent.objects.latest("id")

    left(cast, cast.manager)
    erased(cast, cast.manager)

    namesake.refresh_from_db()
    assert (namesake.name, namesake.email != "") == (cast.manager.name, True)
    assert cast.foreign.seasons.get(name="Bow").entered_by == namesake.name
    kept = AuditEvent.objects.get(id=before.id)
    assert (kept.actor_name, kept.emptied_at) == (namesake.name, None)


def test_letters_at_an_address_that_two_share_stay_with_the_other(cast):
    person, partner = cast.manager, make_person(cast.cooperative, "Paula Partner")
    Person.objects.filter(id=partner.id).update(email=person.email)
    NoticePreference.objects.create(email=person.email)
    letter = write_message(
        once_key="k", recipient=person.email, subject="Hello", text="For Paula", now=NOW
    )

    left(cast, person)
    erased(cast, person)

    letter.refresh_from_db()
    assert (letter.recipient, letter.text) == (person.email, "For Paula")
    assert NoticePreference.objects.exists()


def test_only_a_coordinator_erases_and_only_whom_they_name(cast):
    person = cast.other_member
    left(cast, person)

    assert asked(cast, cast.manager, person).status_code in (403, 404)
    assert asked(cast, cast.stranger, person).status_code == 404
    other = asked(cast, cast.coordinator, person, name=cast.member.name)
    assert (other.status_code, other.data["errors"][0]["pointer"]) == (400, "#/name")
    done = asked(cast, cast.coordinator, person)
    again = asked(cast, cast.coordinator, person)

    assert (done.status_code, done.data["name"], done.data["erased_at"] is not None) == (
        200,
        erasure.ERASED,
        True,
    )
    assert (again.status_code, again.data) == (200, done.data)


def test_nobody_signs_in_as_them_any_more(cast):
    client = cast.client(cast.other_member)
    left(cast, cast.other_member)
    erased(cast, cast.other_member)

    assert client.get("/api/v1/persons/").status_code == 401


def standing_things(cast: Cast) -> dict[str, str]:
    """What has to end first, by the words that say it."""
    stage = make_stage(cast)
    member = cast.member
    make_guest(member)
    Equipment.objects.create(
        property=cast.north, kind="ladder", name="Long ladder", state="lent", holder=member
    )
    booked(stage, member)
    return {
        "They have not left": "roles",
        "Guests of theirs on the list: 1": "guests",
        "equipment of the cooperative: Long ladder": "equipment",
        "not yet checked out: 1": "sits",
    }


def test_whatever_others_depend_on_has_to_end_first_and_is_named(cast):
    standing = standing_things(cast)

    answer = asked(cast, cast.coordinator, cast.member)

    assert (answer.status_code, answer.data["code"]) == (409, "still_needed")
    assert len(answer.data["obstacles"]) == len(standing)
    for words in standing:
        assert any(words in sentence for sentence in answer.data["obstacles"])
    cast.member.refresh_from_db()
    assert cast.member.erased_at is None


def test_a_follow_up_of_an_incident_keeps_who_wrote_it(cast):
    """Evidence is kept as it came: the database refuses to change it."""
    incident = reported(cast)
    act(cast, incident, "follow-up", words="Called the sheriff.")
    assert FollowUp.objects.filter(entered_by=cast.manager.name).exists()

    for person in (cast.member, cast.manager):
        left(cast, person)
        erased(cast, person)

    assert holding({cast.manager.name, cast.member.name}) <= {"FollowUp.entered_by"}


def test_the_database_lets_no_erased_person_keep_a_number(cast):
    left(cast, cast.other_member)
    erased(cast, cast.other_member)

    with pytest.raises(IntegrityError), transaction.atomic():
        Person.objects.filter(id=cast.other_member.id).update(phone="555-0100")


def test_every_column_that_names_whoever_did_something_is_erased():
    """A new one has to be registered, or to be named here with its reason."""
    kept = {
        "FollowUp.entered_by": "evidence is kept as it came",
        "AuditEvent.actor_name": "emptied by id",
        "Person.emergency_contact_name": "emptied with the person",
        "Outfitter.contact_name": "of a business, which changes it itself",
        "EmergencySheet.hospital_name": "a place",
        "ObservationImport.file_name": "a file",
    }
    named = {
        f"{model.__name__}.{field.name}"
        for model in apps.get_models()
        if model._meta.app_label in ("coop", "properties", "scrapes", "scheduling", "reports")
        for field in text_fields(model)
        if field.name.endswith(("_by", "_name"))
    }
    registered = {f"{model.__name__}.{column}" for model, column in erasure._name_columns}

    assert registered | set(kept) == named


def test_a_log_of_theirs_says_that_somebody_asked(cast):
    run = jobs.enqueue(
        name="jobs.forget_old_runs", now=NOW + timedelta(1), requested_by_id=cast.manager.user_id
    )
    left(cast, cast.manager)
    erased(cast, cast.manager)

    run.refresh_from_db()
    assert run.requested_by_id is None
    assert erasure.ERASED in JobLogLine.objects.get(run=run).text


def test_whoever_keeps_answers_judges_anew_after_it(cast):
    left(cast, cast.other_member)
    before = as_of(cooperative_id=cast.cooperative.id)

    erased(cast, cast.other_member)

    assert as_of(cooperative_id=cast.cooperative.id).number > before.number


def test_the_record_loses_what_it_says_of_their_papers_youth_and_points(cast):
    person, coordinator = cast.other_member, cast.actor(cast.coordinator)
    paper = create_paper(actor=coordinator, person=person, fields={"kind": "allergy"}, now=NOW)
    change_member(actor=coordinator, member=person.member, changes={"priority_points": 2}, now=NOW)
    others = change_member(
        actor=coordinator, member=cast.member.member, changes={"priority_points": 3}, now=NOW
    )
    about = AuditEvent.objects.filter(object_id__in=[str(paper.id), str(person.member.id)])
    assert about.filter(after__kind="allergy").exists()
    assert about.filter(after__priority_points=2).exists()

    left(cast, person)
    erased(cast, person)

    assert about.count() == 2
    assert set(about.values_list("emptied_at", flat=True)) == {NOW}
    assert not about.exclude(after={}, before={}).exists()
    kept = AuditEvent.objects.get(object_id=str(others.id))
    assert (kept.after["priority_points"], kept.emptied_at) == (3, None)


def test_letters_that_hold_a_name_of_one_word_stay(cast):
    person = make_member(cast.cooperative, "Oak", cast.north)
    letter = write_message(
        once_key="k",
        recipient=cast.member.email,
        subject="Oak ladder",
        text="Oak is closed.",
        cooperative_id=cast.cooperative.id,
        now=NOW,
    )
    Message.objects.filter(id=letter.id).update(state=MessageState.SENT)

    left(cast, person)
    erased(cast, person)

    letter.refresh_from_db()
    assert (letter.subject, letter.text) == ("Oak ladder", "Oak is closed.")
