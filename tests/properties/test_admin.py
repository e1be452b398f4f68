"""The admin of this floor: everything can be looked at, and nothing slips past the services."""

import pytest
from django.apps import apps
from django.contrib import admin
from django.urls import reverse

from coop.access.models import User
from coop.access.roles import Role
from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from properties.people.models import Person, RoleGrant
from tests.cast import make_person, make_stand

MODELS = list(apps.get_app_config("properties").get_models())
WRITTEN_HERE = {"cooperative", "person", "member", "paper", "rolegrant"}


@pytest.fixture
def office(cast, client):
    """A browser signed in as somebody who may do all that the admin offers."""
    make_stand(cast.north, "Oak point")
    client.force_login(User.objects.create_superuser("office@example.org", name="Office"))
    return client


def name_of(model):
    return model._meta.model_name


def page(model, view, *args):
    return reverse(f"admin:properties_{name_of(model)}_{view}", args=args)


def test_every_model_of_the_floor_can_be_looked_at():
    assert [name_of(model) for model in MODELS if model not in admin.site._registry] == []


@pytest.mark.parametrize("model", MODELS, ids=name_of)
def test_a_list_opens_and_nothing_can_be_deleted(office, model):
    assert office.get(page(model, "changelist")).status_code == 200
    row = model.objects.first()
    if row is not None:
        assert office.get(page(model, "change", row.pk)).status_code == 200
        assert office.post(page(model, "delete", row.pk), {"post": "yes"}).status_code == 403
    assert office.get(page(model, "add")).status_code == (
        200 if name_of(model) in WRITTEN_HERE else 403
    )


def test_a_person_changed_in_the_admin_is_in_the_record(office, cast):
    url = page(Person, "change", cast.member.id)
    form = office.get(url).context["adminform"].form
    body = {name: form[name].value() or "" for name in form.fields} | {"phone": "555-0133"}

    answer = office.post(url, body)

    assert answer.status_code == 302, answer.context["errors"]
    event = AuditEvent.objects.get(object_id=str(cast.member.id))
    assert event.actor_name == "admin office@example.org"
    assert (event.before["phone"], event.after["phone"]) == ("555-0100", "555-0133")
    cast.member.refresh_from_db()
    assert cast.member.version == 2


def test_a_role_is_granted_in_the_admin_by_the_same_rules(office, cast):
    newcomer = make_person(cast.cooperative, "Nell New")
    url = page(RoleGrant, "add")
    astray = office.post(url, {"person": newcomer.id, "role": "member"})
    granted = office.post(url, {"person": newcomer.id, "role": "member", "property": cast.north.id})

    assert "property" in astray.context["adminform"].form.errors
    assert granted.status_code == 302
    assert RoleGrant.objects.get(person=newcomer).property == cast.north
    assert newcomer.member.entitlement_weight == 1


def test_a_role_is_revoked_in_the_admin_and_the_last_coordinator_stays(office, cast):
    grants = RoleGrant.objects.filter(person__in=[cast.member, cast.coordinator])
    office.post(
        page(RoleGrant, "changelist"),
        {"action": "revoke", "_selected_action": [grant.pk for grant in grants]},
    )

    assert RoleGrant.objects.get(person=cast.member).revoked_at is not None
    assert RoleGrant.objects.get(role=Role.COORDINATOR).revoked_at is None
    assert Fact.objects.get(topic="role.revoked").ids["person"] == str(cast.member.id)
