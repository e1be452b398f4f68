"""The admin: closed to everybody but staff, and no staff account reads a secret there."""

import pytest
from django.contrib import admin
from django.contrib.contenttypes.models import ContentType
from django.test import Client
from django.urls import reverse

from coop.access.models import User
from tests.coop.access.kinds import CALLERS, UNKNOWN_CALLERS

pytestmark = pytest.mark.django_db

MODELS = sorted(admin.site._registry, key=lambda model: model._meta.label)
IDS = [model._meta.label for model in MODELS]
OPENERS = {"password", "sealed", "recovery_digests"}
OF_LIBRARIES = {"auth", "contenttypes", "sessions", "admin", "oauth2_provider"}


def page_of(model, name, *arguments):
    label = f"admin:{model._meta.app_label}_{model._meta.model_name}_{name}"
    return reverse(label, args=arguments)


@pytest.fixture
def superuser(world):
    client = Client()
    client.force_login(User.objects.create_superuser("root@example.org", "a long enough one"))
    return client


@pytest.mark.parametrize("caller", [*CALLERS, *UNKNOWN_CALLERS])
def test_no_credential_of_the_api_opens_the_admin(clients, caller):
    for model in MODELS:
        answer = clients[caller].get(page_of(model, "changelist"))

        assert answer.status_code == 302, model
        assert answer.headers["Location"].startswith("/admin/login/")


@pytest.mark.parametrize("role", ["coordinator", "manager", "member", "landowner"])
def test_no_role_in_the_cooperative_opens_the_admin(world, role):
    client = Client()
    client.force_login(getattr(world.cast, role).user)

    assert {client.get(page_of(model, "changelist")).status_code for model in MODELS} == {302}


def test_a_staff_account_sees_no_model_that_nobody_gave_it(world):
    user = User.objects.create_user("staff@example.org", "a long enough one", is_staff=True)
    client = Client()
    client.force_login(user)

    assert {client.get(page_of(model, "changelist")).status_code for model in MODELS} == {403}


@pytest.mark.parametrize("model", MODELS, ids=IDS)
def test_every_list_and_every_object_opens_for_whoever_runs_the_server(superuser, model):
    assert superuser.get(page_of(model, "changelist")).status_code == 200
    row = model.objects.first()
    if row is not None:
        assert superuser.get(page_of(model, "change", row.pk)).status_code == 200


def test_no_page_of_the_admin_shows_what_opens_something(superuser, world):
    secrets = _secrets(world)
    assert any(name.startswith("coop.User.password") for name in secrets)
    for model in MODELS:
        told = superuser.get(page_of(model, "changelist")).content.decode()
        for row in model.objects.all()[:3]:
            told += superuser.get(page_of(model, "change", row.pk)).content.decode()
        assert not [name for name, secret in secrets.items() if secret in told], model


def _secrets(world):
    """What is stored of things that open something: digests and sealed texts, never the thing."""
    found = {}
    for content_type in ContentType.objects.exclude(app_label__in=OF_LIBRARIES):
        model = content_type.model_class()
        if model is None:
            continue
        names = [
            field.name
            for field in model._meta.concrete_fields
            if field.name in OPENERS or "secret" in field.name
        ]
        for name in names:
            for value in model.objects.values_list(name, flat=True)[:20]:
                if isinstance(value, str) and len(value) >= 20 and not value.startswith("!"):
                    found[f"{model._meta.label}.{name} {value[:8]}"] = value
    return found
