"""An answer is given again while nothing that it hangs on was written, to whom it was given."""

from datetime import timedelta

import orjson
import pytest
from django.core.cache import cache

from coop.access.actors import system_actor
from coop.access.roles import Role
from properties.people.models import Person, RoleGrant
from properties.people.role_services import grant_role, revoke_role
from properties.stands.services import close_stand, open_stand
from scheduling.offers import kept
from scheduling.sits.life_services import cancel_sit
from tests.cast import NOW
from tests.scheduling.offers.asking import OFFERS, anew, ask, is_judged, query_of
from tests.scheduling.sits.stage import booked, give_fits

pytestmark = pytest.mark.usefixtures("at_now")


@pytest.fixture
def ben(stage):
    return stage.cast.client(stage.ben)


def test_asked_again_the_same_bytes_come_and_no_rule_is_asked(stage, ben):
    booked(stage)
    first = ask(ben, stage)

    assert not is_judged(ben, stage)
    again = ask(ben, stage)

    assert again.content == first.content == anew(ben, stage)
    assert again["ETag"] == first["ETag"]
    assert again["Content-Type"] == "application/json"


def test_after_a_booking_and_after_its_cancelling_the_answer_is_a_new_one(stage, ben):
    before = ask(ben, stage).content
    sit = booked(stage)
    taken = ask(ben, stage).content
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="Ill", now=NOW)

    assert taken != before
    assert ask(ben, stage).content == before


def test_no_offer_outlives_a_closed_stand(stage, ben):
    assert is_judged(ben, stage)
    close_stand(actor=system_actor("t"), stand=stage.oak, reason="Rotten rung", now=NOW)
    closed = ask(ben, stage)
    open_stand(actor=system_actor("t"), stand=stage.oak, reason="Mended", now=NOW)

    assert closed.content.count(b"stand_closed") == 10
    assert b"stand_closed" not in ask(ben, stage).content


def test_a_role_that_is_revoked_has_ended_with_the_next_request(stage, ben):
    ask(ben, stage)
    held = RoleGrant.objects.get(person=stage.ben)
    revoke_role(actor=system_actor("t"), grant=held, now=NOW)

    refused = ben.get(OFFERS, query_of(stage))
    grant_role(
        actor=system_actor("t"), person=stage.ben, role=Role.MEMBER, land=stage.cast.north, now=NOW
    )

    assert refused.status_code == 400
    assert ask(ben, stage).content == anew(ben, stage)


def test_nobody_is_given_what_was_judged_for_another(stage, ben):
    booked(stage)
    for_ben = ask(ben, stage).content
    manager, mia = stage.cast.client(stage.cast.manager), stage.cast.client(stage.cast.member)
    outfitter = stage.cast.application_client()

    answers = {ask(client, stage).content for client in (manager, mia, outfitter)}

    assert for_ben not in answers
    assert len(answers) == 3
    assert b"Mia" not in ask(outfitter, stage).content
    for client in (ben, manager, mia, outfitter):
        assert ask(client, stage).content == anew(client, stage)


def test_after_a_change_of_units_the_same_question_is_answered_in_the_new_ones(stage, ben):
    give_fits(stage.oak, gust_mps=12.0)
    Person.objects.filter(id=stage.ben.id).update(units="us")
    first = ask(ben, stage).content
    Person.objects.filter(id=stage.ben.id).update(units="metric")
    second = ask(ben, stage).content

    # 1 mph is 0.44704 m/s by definition.
    assert b"26.8 mph" in first
    assert b"m/s" not in first
    assert b"12.0 m/s" in second
    assert b"mph" not in second
    facts = [
        refusal["facts"]
        for body in (first, second)
        for session in orjson.loads(body)["sessions"]
        for stand in session["stands"]
        for refusal in stand["refusals"]
        if refusal["code"] == "gust_above_limit"
    ]
    assert {one["gust_mps"] for one in facts} == {12.0}


def test_every_part_of_a_question_is_a_question_of_its_own(stage):
    manager = stage.cast.client(stage.cast.manager)
    questions = [
        {},
        {"kind": "evening"},
        {"kind": "morning"},
        {"weapon": "bow"},
        {"weapon": "rifle"},
        {"person": stage.ben.id},
        {"property": None, "weapon": "rifle", "kind": "morning"},
        {"last_on": NOW.date() + timedelta(days=7)},
        {"first_on": NOW.date() + timedelta(days=7)},
    ]
    booked(stage, stage.ben)
    for asked in questions:
        ask(manager, stage, **asked)
    for asked in questions:
        assert not is_judged(manager, stage, **asked)
        assert ask(manager, stage, **asked).content == anew(manager, stage, **asked), asked


def test_whoever_may_read_more_properties_than_before_is_answered_for_all_of_them(stage, ben):
    names = {one["property_name"] for one in ask(ben, stage, property=None).json()["sessions"]}
    grant_role(
        actor=system_actor("t"), person=stage.ben, role=Role.MEMBER, land=stage.cast.south, now=NOW
    )
    more = {one["property_name"] for one in ask(ben, stage, property=None).json()["sessions"]}

    assert (names, more) == ({"North"}, {"North", "South"})


def test_the_entity_tag_answers_whether_it_is_still_the_same(stage, ben):
    first = ask(ben, stage)
    same = ben.get(OFFERS, query_of(stage), HTTP_IF_NONE_MATCH=f'"other", W/{first["ETag"]}')
    whatever = ben.get(OFFERS, query_of(stage), HTTP_IF_NONE_MATCH="*")
    untagged = ben.get(OFFERS, query_of(stage), HTTP_IF_NONE_MATCH=first["ETag"].strip('"'))
    booked(stage)
    other = ben.get(OFFERS, query_of(stage), HTTP_IF_NONE_MATCH=first["ETag"])

    assert (same.status_code, same.content, same["ETag"]) == (304, b"", first["ETag"])
    assert (whatever.status_code, untagged.status_code) == (304, 200)
    assert (other.status_code, other.content) == (200, anew(ben, stage))
    assert first["Cache-Control"] == "private, no-cache"


def test_named_members_alone_come_from_what_is_kept_too(stage, ben):
    ask(ben, stage)

    assert not is_judged(ben, stage, fields="notice")
    assert list(ask(ben, stage, fields="notice").json()) == ["notice"]


class Away:
    """A cache whose server is away."""

    def __getattr__(self, _name):
        raise ConnectionError("refused")


def test_a_cache_that_is_away_fails_no_request(stage, ben, monkeypatch):
    there = ask(ben, stage).content
    monkeypatch.setattr(kept, "cache", Away())

    assert is_judged(ben, stage)
    assert ask(ben, stage).content == there


@pytest.mark.parametrize("found", [b"nonsense", (), ("x",) * 5, 7])
def test_a_cache_that_answers_nonsense_fails_no_request(stage, ben, monkeypatch, found):
    there = ask(ben, stage).content
    monkeypatch.setattr(cache, "get", lambda *_key, **_more: found)

    assert ask(ben, stage).content == there


def test_nothing_is_kept_where_the_setting_says_so(stage, ben, settings):
    ask(ben, stage)
    assert not is_judged(ben, stage)

    settings.OFFERS_KEPT_SECONDS = 0

    assert is_judged(ben, stage)
    assert is_judged(ben, stage)


def test_numbers_given_again_after_a_restore_bring_no_answer_of_before(stage, ben):
    """The same number with another change behind it is another state."""
    ask(ben, stage)
    under = kept.as_of(cooperative_id=stage.cast.cooperative.id)
    last = kept.Change.objects.filter(number=under.number)
    row = last.values().get()
    last.delete()
    kept.Change.objects.create(**{name: row[name] for name in row if name != "id"})

    assert kept.as_of(cooperative_id=stage.cast.cooperative.id).number == under.number
    assert is_judged(ben, stage)


def test_whoever_belongs_nowhere_is_answered_and_nothing_is_kept(stage):
    from rest_framework.test import APIClient

    from coop.access.models import PersonalToken, User

    _row, token = PersonalToken.objects.create(
        user=User.objects.create(email="nobody@example.org", name="Nobody")
    )
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {token}")

    assert orjson.loads(ask(client, stage, property=None).content)["sessions"] == []
