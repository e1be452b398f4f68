"""Dues, work days, young hunters and guests' caps, from what is stored to booking and plan."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError

from coop.api.problems import Refused
from properties.obligations.models import Due, WorkDay
from properties.people.models import Paper
from properties.people.youth_models import YouthRecord
from scheduling.rotation.gather import gather
from scheduling.sits.booking_services import Overrule, book_sit
from scheduling.sits.life_services import cancel_sit, check_in, check_out
from scheduling.sits.models import SeatClaim, Sit, SitRequest
from tests.cast import NOW, make_member
from tests.scheduling.sits.stage import DAY, booked, codes_of, make_guest

pytestmark = pytest.mark.usefixtures("at_now")


def ask_for(stage, group="obligations", **settings):
    land = stage.cast.north
    land.settings = {**land.settings, group: settings}
    land.save()


def young(person, **fields):
    return YouthRecord.objects.create(person=person, youth_until=DAY, **fields)


def kept_out_of_a_plan(stage, person):
    SitRequest.objects.create(
        property=stage.cast.north, person=person, first_on=DAY, last_on=DAY, wanted_sits=1
    )
    found = gather(lands=[stage.cast.north], first_on=DAY, last_on=DAY, now=NOW)
    member = found.problem.member_by_id[str(person.id)]
    return member.available, found.kept_out[str(person.id)]


def test_open_dues_refuse_a_booking_and_keep_out_of_a_plan_where_the_property_asks(stage):
    member = stage.cast.member
    due = Due.objects.create(
        person=member, season_year=2025, amount=450, due_on=DAY - timedelta(days=1)
    )
    assert kept_out_of_a_plan(stage, member)[1] == ()
    ask_for(stage, dues_needed=True)

    with pytest.raises(Refused) as refusal:
        booked(stage)
    free, sentences = kept_out_of_a_plan(stage, stage.ben)
    assert len(free) == 2
    SitRequest.objects.all().delete()
    available, sentences = kept_out_of_a_plan(stage, member)

    assert codes_of(refusal.value) == ["dues_open"]
    assert available == ()
    assert sentences == (
        "Mia Member is not clear of dues, and North asks for that; ask the coordinator.",
    )
    due.paid_on = date(2025, 11, 1)
    due.save()
    booked(stage)


def test_a_manager_sets_open_dues_aside_with_a_reason(stage):
    Due.objects.create(person=stage.ben, season_year=2025, amount=450, due_on=date(2025, 8, 1))
    ask_for(stage, dues_needed=True)
    sit = book_sit(
        actor=stage.cast.actor(stage.cast.manager),
        stand=stage.oak,
        local_date=DAY,
        span="evening",
        person=stage.ben,
        overrule=Overrule(codes=frozenset({"dues_open"}), reason="Pays on Monday"),
        now=NOW,
    )
    assert sit.overrule_reason == "Pays on Monday"


def test_dues_of_nothing_and_of_somebody_else_stand_in_nobodys_way(stage):
    ask_for(stage, dues_needed=True)
    Due.objects.create(
        person=stage.cast.member, season_year=2025, amount=0, due_on=date(2025, 8, 1)
    )
    Due.objects.create(person=stage.ben, season_year=2025, amount=9, due_on=date(2025, 8, 1))
    booked(stage)


def test_work_on_any_property_counts_and_what_was_withdrawn_does_not(stage):
    ask_for(stage, work_needed=True, work_days_owed=1, work_day_h=6)
    done = {"person": stage.cast.member, "worked_on": date(2025, 9, 1), "what": "Lanes"}
    WorkDay.objects.create(property=stage.cast.south, hours=4, **done)
    WorkDay.objects.create(property=stage.cast.north, hours=2, withdrawn_at=NOW, **done)
    with pytest.raises(Refused) as refusal:
        booked(stage)
    assert codes_of(refusal.value) == ["work_days_owed"]
    WorkDay.objects.create(property=stage.cast.north, hours=2, **done)
    booked(stage)


def test_a_manager_sees_who_is_clear_and_a_member_their_own_line(stage):
    cast = stage.cast
    Due.objects.create(person=stage.ben, season_year=2025, amount=777, due_on=date(2025, 8, 1))
    Paper.objects.filter(person=cast.member, kind="waiver").delete()
    ask_for(stage, work_needed=True, work_days_owed=2)
    query = {"property": str(cast.north.id)}

    seen = cast.client(cast.manager).get("/api/v1/standings/", query)
    own = cast.client(stage.ben).get("/api/v1/standings/", query)

    by_name = {row["name"]: row for row in seen.data}
    assert by_name["Ben Second"]["dues_clear"] is False
    assert by_name["Mia Member"]["dues_clear"] is True
    assert "waiver" in by_name["Mia Member"]["papers_wrong"][0]
    assert (by_name["Ben Second"]["work_owed_h"], by_name["Ben Second"]["work_clear"]) == (
        12,
        False,
    )
    told_of_dues = {name for row in seen.data for name in row if "due" in name}
    assert told_of_dues == {"dues_clear", "work_due_on"}
    assert [row["name"] for row in own.data] == ["Ben Second"]
    assert cast.client(cast.landowner).get("/api/v1/standings/", query).status_code == 403


def test_a_young_member_sits_with_the_adult_who_supervises_them_in_two_seats(stage):
    teen = make_member(stage.cast.cooperative, "Tess Young", stage.cast.north)
    young(teen, supervisor=stage.cast.member)

    with pytest.raises(Refused) as alone:
        booked(stage, teen)
    with pytest.raises(ValidationError, match="is no guest of"):
        booked(stage, stage.ben, guests=[teen])
    available, sentences = kept_out_of_a_plan(stage, teen)
    sit = booked(stage, guests=[teen], weapon="bow")

    assert codes_of(alone.value) == ["youth_alone"]
    assert available == ()
    assert "sits with an adult" in sentences[0]
    assert sit.is_supervising
    beside = Sit.objects.get(person=teen)
    assert (beside.host, beside.stand, beside.is_supervising, beside.weapon) == (
        stage.cast.member,
        stage.oak,
        False,
        "bow",
    )
    assert SeatClaim.objects.filter(stand=stage.oak).count() == 2


def test_a_young_hunter_checks_in_once_the_adult_has_and_leaves_with_them(stage):
    teen = make_member(stage.cast.cooperative, "Tess Young", stage.cast.north)
    young(teen, other_supervisor=stage.cast.member)
    adults = booked(stage, guests=[teen])
    teens = Sit.objects.get(person=teen)
    at = adults.starts_at

    with pytest.raises(Refused) as refusal:
        check_in(actor=stage.cast.actor(teen), sit=teens, now=at)
    adult = stage.cast.actor(stage.cast.member)
    check_in(actor=adult, sit=adults, now=at)
    teens.refresh_from_db()
    assert (codes_of(refusal.value), teens.state) == (["youth_alone"], "checked_in")
    check_out(actor=adult, sit=adults, now=at + timedelta(hours=1))
    teens.refresh_from_db()
    assert teens.state == "checked_out"


def test_when_the_adults_sit_ends_the_young_hunters_does(stage):
    guest = make_guest(stage.cast.member)
    young(guest)
    sit = booked(stage, guests=[guest])
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="Ill", now=NOW)
    assert set(Sit.objects.values_list("state", flat=True)) == {"cancelled"}


def test_an_adult_without_the_paper_supervises_nobody(stage):
    ask_for(stage, group="sits", required_papers=[], required_guest_papers=[])
    Paper.objects.filter(person=stage.cast.member, kind="licence").delete()
    guest = make_guest(stage.cast.member)
    young(guest)
    with pytest.raises(Refused) as refusal:
        booked(stage, guests=[guest])
    assert codes_of(refusal.value) == ["supervisor_paper_missing"]
    booked(stage)


def test_a_host_brings_guests_until_the_cap_and_a_cancelled_sit_gives_it_back(stage):
    ask_for(stage, group="house_rules", guest_sits_a_host=1)
    guest = make_guest(stage.cast.member)
    sit = booked(stage, guests=[guest], day=DAY)
    later = DAY + timedelta(days=7)
    with pytest.raises(Refused) as refusal:
        booked(stage, guests=[guest], stand=stage.oak, day=later)
    assert codes_of(refusal.value) == ["guests_of_host"]
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="", now=NOW)
    booked(stage, guests=[guest], stand=stage.oak, day=later)


def test_the_cap_of_the_property_counts_every_hosts_guests(stage):
    ask_for(stage, group="house_rules", guest_sits_a_property=1)
    booked(stage, guests=[make_guest(stage.cast.member)])
    with pytest.raises(Refused) as refusal:
        booked(
            stage,
            stage.ben,
            stand=stage.oak,
            day=DAY + timedelta(days=7),
            guests=[make_guest(stage.ben, "Gil Guest")],
        )
    assert codes_of(refusal.value) == ["guests_on_property"]


@pytest.mark.parametrize(
    ("who", "status"), [("manager", 200), ("member", 200), ("landowner", 404), ("ben", 404)]
)
def test_who_is_young_is_read_by_managers_and_those_beside_them(stage, who, status):
    record = young(make_guest(stage.cast.member))
    person = stage.ben if who == "ben" else getattr(stage.cast, who)
    answer = stage.cast.client(person).get(f"/api/v1/youths/{record.id}/")
    assert answer.status_code == status


def test_nobody_young_supervises_and_nobody_supervises_themselves(stage):
    young(stage.ben)
    manager = stage.cast.client(stage.cast.manager)
    for supervisor in (stage.ben, stage.cast.member):
        answer = manager.post(
            "/api/v1/youths/",
            {
                "person": str(stage.cast.member.id),
                "youth_until": f"{DAY}",
                "supervisor": str(supervisor.id),
            },
            format="json",
        )
        assert answer.status_code == 400, answer.data


CLIENT = {
    "reference": "C-9",
    "name": "Cleo Client",
    "vehicle": "Grey van XY 7",
    "emergency_contact_name": "Kin of Cleo",
    "emergency_contact_phone": "555-0177",
    "papers": [{"kind": "licence", "expires_on": None}, {"kind": "waiver", "expires_on": None}],
}


def book_client(stage, **changes):
    return stage.cast.application_client().post(
        "/api/v1/sits/",
        {
            "stand": str(stage.oak.id),
            "local_date": f"{DAY}",
            "span": "evening",
            "client": {**CLIENT, **changes},
        },
        format="json",
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"name": "Client 3"},
        {"name": "Cleo"},
        {"name": "1 2"},
        {"emergency_contact_phone": "n/a"},
        {"emergency_contact_name": ""},
    ],
)
def test_an_outfitter_names_a_client_in_full_with_somebody_to_call(stage, changes):
    answer = book_client(stage, **changes)
    assert answer.status_code == 400, answer.data
    (error,) = answer.data["errors"]
    assert error["pointer"] == f"#/client/{next(iter(changes))}"
    assert not Sit.objects.exists()


def test_a_client_without_the_papers_is_refused_and_with_them_is_known_with_a_vehicle(stage):
    refused = book_client(stage, papers=[{"kind": "licence"}])
    assert [each["code"] for each in refused.data["refusals"]] == ["paper_missing"]
    assert book_client(stage).status_code == 201
    asked = {"property": str(stage.cast.north.id), "date": f"{DAY}"}
    (row,) = stage.cast.client(stage.cast.landowner).get("/api/v1/roster/", asked).data
    assert (row["name"], row["through"]) == ("Cleo Client", "Ridge Outfitters")
    assert row["vehicle"] == "Grey van XY 7"
