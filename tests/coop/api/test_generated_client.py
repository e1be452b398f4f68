"""A client that a public generator makes from the description books a sit, without hand edits."""

import importlib
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import httpx
import pytest
import time_machine
from django.core.management import call_command

from scheduling.sits.models import Sit
from tests.cast import NOW, make_cast
from tests.scheduling.sits.stage import DAY, Stage, make_stage

PACKAGE = "generated_cooperative_client"
SECRET = "a-secret-of-this-test"


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory) -> ModuleType:
    folder = tmp_path_factory.mktemp("client")
    call_command("spectacular", file=str(folder / "openapi.yml"))
    subprocess.run(
        [
            *(sys.executable, "-m", "openapi_python_client", "generate", "--meta", "none"),
            *("--path", folder / "openapi.yml", "--output-path", folder / PACKAGE),
        ],
        check=True,
        capture_output=True,
    )
    sys.path.insert(0, str(folder))
    yield importlib.import_module(PACKAGE)
    sys.path.remove(str(folder))


@pytest.fixture
def stage(transactional_db) -> Stage:
    stage = make_stage(make_cast())
    application = stage.cast.outfitter.application
    application.client_secret = SECRET
    application.save()
    return stage


def access_token(url: str, stage: Stage) -> str:
    application = stage.cast.outfitter.application
    answer = httpx.post(
        f"{url}/oauth/token/",
        data={"grant_type": "client_credentials", "scope": "offers sits"},
        auth=(application.client_id, SECRET),
    )
    return answer.json()["access_token"]


def part(generated: ModuleType, name: str) -> ModuleType:
    return importlib.import_module(f"{generated.__name__}.{name}")


@time_machine.travel(NOW)
def test_a_generated_client_reads_offers_and_books_one(generated, stage, live_server):
    models = part(generated, "models")
    client = generated.AuthenticatedClient(
        base_url=live_server.url, token=access_token(live_server.url, stage)
    )

    offers = part(generated, "api.sits.offers_retrieve").sync(client=client, date=DAY)
    evening = next(session for session in offers.sessions if session.kind == "evening")
    offered = next(stand for stand in evening.stands if stand.offered)
    booking = models.BookingRequest(
        stand=offered.stand,
        local_date=DAY,
        span=models.SitSpan.EVENING,
        client=models.ClientRequest(
            reference="C-17",
            name="Ada Long",
            emergency_contact_name="Bo Long",
            emergency_contact_phone="555-0199",
            papers=[
                models.ClientPaperRequest(kind="licence"),
                models.ClientPaperRequest(kind="waiver"),
            ],
        ),
    )
    book = part(generated, "api.sits.sits_create")
    first = book.sync_detailed(client=client, body=booking, idempotency_key="once")
    again = book.sync_detailed(client=client, body=booking, idempotency_key="once")

    assert (first.status_code, again.status_code) == (201, 201)
    assert isinstance(first.parsed, models.BookedSit)
    assert first.parsed.id == again.parsed.id == Sit.objects.get().id
    assert first.parsed.stand == offered.stand


@time_machine.travel(NOW)
def test_a_generated_client_reads_a_refusal_as_a_problem(generated, stage, live_server):
    models = part(generated, "models")
    client = generated.AuthenticatedClient(
        base_url=live_server.url, token=access_token(live_server.url, stage)
    )
    booking = models.BookingRequest(stand=stage.oak.id, local_date=DAY, span=models.SitSpan.EVENING)
    answer = part(generated, "api.sits.sits_create").sync_detailed(client=client, body=booking)
    assert answer.status_code == 400
    assert isinstance(answer.parsed, models.Problem)
    assert Path(answer.parsed.type_).name == "problems#invalid_input"
