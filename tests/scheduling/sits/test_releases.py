"""What closed ground, closed stands and ended roles do to booked sits."""

from datetime import timedelta

from coop.access.roles import Role
from coop.outbox.models import Message
from properties.land.services import close_property, lift_closure
from properties.people.models import PropertyShare, RoleGrant
from properties.people.outfitter_services import revoke_share
from properties.people.role_services import grant_role, revoke_role
from properties.stands.services import close_stand, open_stand
from scheduling.sits import releases
from scheduling.sits.closed_ground import outcome_of
from scheduling.sits.life_services import check_in
from scheduling.sits.models import SeatClaim, Sit
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, booked_for_client, facts_handled, make_guest


def close_north(stage, first_on=DAY, last_on=DAY):
    return close_property(
        actor=stage.cast.actor(stage.cast.landowner),
        land=stage.cast.north,
        first_on=first_on,
        last_on=last_on,
        reason="Logging",
        now=NOW,
    )


def test_closed_days_cancel_their_sits_free_the_seats_and_tell_people_once(stage):
    inside = booked(stage)
    outside = booked(stage, stage.ben, stand=stage.creek, day=DAY + timedelta(days=1))
    close_north(stage)

    facts_handled()
    facts_handled()

    inside.refresh_from_db()
    outside.refresh_from_db()
    assert (inside.state, outside.state) == ("cancelled", "booked")
    assert inside.cancel_reason == "The property is closed: Logging"
    assert SeatClaim.objects.get().sit == outside
    message = Message.objects.get()
    assert message.recipient == stage.cast.member.email
    assert "Logging" in message.text


def test_a_closure_lifted_before_it_was_told_cancels_nothing(stage):
    sit = booked(stage)
    closure = close_north(stage)
    lift_closure(actor=stage.cast.actor(stage.cast.landowner), closure=closure, now=NOW)

    facts_handled()

    sit.refresh_from_db()
    assert sit.state == "booked"


def test_a_closed_stand_cancels_its_coming_sits_and_warns_who_is_up_there(stage):
    out = booked(stage)
    check_in(actor=stage.cast.actor(stage.cast.member), sit=out, now=out.starts_at)
    coming = booked(stage, stage.ben, day=DAY + timedelta(days=4))

    close_stand(
        actor=stage.cast.actor(stage.cast.manager),
        stand=stage.oak,
        reason="Cracked rung",
        now=out.starts_at,
    )
    facts_handled(out.starts_at)

    out.refresh_from_db()
    coming.refresh_from_db()
    assert (out.state, coming.state) == ("checked_in", "cancelled")
    texts = dict(Message.objects.values_list("recipient", "text"))
    assert "while" in Message.objects.get(recipient=stage.cast.member.email).subject
    assert "Cracked rung" in texts[stage.cast.member.email]
    assert "Cracked rung" in texts[stage.ben.email]


def reasons_told(person, *reasons):
    """Of each letter to somebody, as they were written, the reasons in it."""
    letters = Message.objects.filter(recipient=person.email).order_by("created_at", "id")
    return [[reason for reason in reasons if reason in letter.text] for letter in letters]


def test_who_is_on_a_stand_hears_of_each_closing_of_it_and_of_each_once(stage):
    out, manager = booked(stage), stage.cast.actor(stage.cast.manager)
    now = out.starts_at
    check_in(actor=stage.cast.actor(stage.cast.member), sit=out, now=now)
    for reason in ("Cracked rung", "Wasps"):
        close_stand(actor=manager, stand=stage.oak, reason=reason, now=now)
        facts_handled(now)
        releases.stand_closed({"stand": str(stage.oak.id)}, now)
        open_stand(actor=manager, stand=stage.oak, reason="Mended", now=now)

    told = reasons_told(out.person, "Cracked rung", "Wasps")
    assert told == [["Cracked rung"], ["Wasps"]]


def test_who_is_out_hears_of_each_closure_and_each_counts_its_own_letter(stage):
    out, manager = booked(stage), stage.cast.actor(stage.cast.manager)
    now = out.starts_at
    check_in(actor=stage.cast.actor(stage.cast.member), sit=out, now=now)
    for reason in ("Logging", "Fire"):
        closure = close_property(
            actor=manager,
            land=stage.cast.north,
            first_on=DAY,
            last_on=DAY,
            reason=reason,
            now=now,
        )
        facts_handled(now)
        releases.ground_closed({"closure": str(closure.id)}, now)
        (met,) = outcome_of(closure).met
        assert len(met.letters) == 1
        lift_closure(actor=manager, closure=closure, now=now)

    assert reasons_told(out.person, "Logging", "Fire") == [["Logging"], ["Fire"]]
    letters = Message.objects.filter(recipient=out.person.email)
    assert ["Come down with care and leave" in letter.text for letter in letters] == [True, True]


def test_a_stand_opened_again_before_the_fact_was_handled_keeps_its_sits(stage):
    sit = booked(stage)
    manager = stage.cast.actor(stage.cast.manager)
    close_stand(actor=manager, stand=stage.oak, reason="Cracked rung", now=NOW)
    open_stand(actor=manager, stand=stage.oak, reason="Mended", now=NOW)

    facts_handled()

    sit.refresh_from_db()
    assert sit.state == "booked"


def test_a_role_that_ends_takes_the_sits_of_member_and_guests_there(stage):
    booked(stage, guests=[make_guest(stage.cast.member)])
    others = booked(stage, stage.ben, stand=stage.creek)
    grant = RoleGrant.objects.get(person=stage.cast.member, role=Role.MEMBER)

    revoke_role(actor=stage.cast.actor(stage.cast.coordinator), grant=grant, now=NOW)
    facts_handled()

    states = dict(Sit.objects.values_list("person__name", "state"))
    assert states == {"Mia Member": "cancelled", "Gus Guest": "cancelled", "Ben Second": "booked"}
    assert others.state == "booked"


def test_whoever_keeps_another_role_that_lets_them_sit_keeps_their_sits(stage):
    sit = booked(stage)
    coordinator = stage.cast.actor(stage.cast.coordinator)
    grant_role(
        actor=coordinator, person=sit.person, role=Role.MANAGER, land=stage.cast.north, now=NOW
    )
    grant = RoleGrant.objects.get(person=sit.person, role=Role.MEMBER)

    revoke_role(actor=coordinator, grant=grant, now=NOW)
    facts_handled()

    sit.refresh_from_db()
    assert sit.state == "booked"


def test_a_share_that_ends_takes_the_outfitters_sits_and_tells_the_outfitter(stage):
    stage.cast.outfitter.contact_email = "office@outfitter.example"
    stage.cast.outfitter.save()
    sit = booked_for_client(stage, stage.oak)

    revoke_share(
        actor=stage.cast.actor(stage.cast.coordinator),
        share=PropertyShare.objects.get(),
        now=NOW,
    )
    facts_handled()

    sit.refresh_from_db()
    assert sit.state == "cancelled"
    assert Message.objects.get().recipient == "office@outfitter.example"
