"""Every table that offers are judged by is watched: a write to it ends what is kept."""

import ast
import re
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scheduling.offers.kept import as_of
from tests.scheduling.offers.asking import anew, ask
from tests.scheduling.offers.writes import NOT_JUDGED_BY, WRITES
from tests.scheduling.sits.stage import booked, make_guest

pytestmark = pytest.mark.usefixtures("at_now")


def tables_in(queries, *words):
    pattern = re.compile(rf'\b(?:{"|".join(words)})\s+"(\w+)"')
    return {table for one in queries.captured_queries for table in pattern.findall(one["sql"])}


@pytest.mark.parametrize("who", ["person", "application"])
def test_every_table_that_an_asking_reads_is_watched_or_listed_with_a_reason(stage, who):
    booked(stage, guests=[make_guest(stage.cast.member)])
    is_person = who == "person"
    client = stage.cast.client(stage.ben) if is_person else stage.cast.application_client()
    with CaptureQueriesContext(connection) as queries:
        ask(client, stage, property=None)

    read = tables_in(queries, "FROM", "JOIN")

    assert {"properties_sessionfit", "scheduling_waitingentry", "properties_condition"} <= read
    assert read <= WRITES.keys() | NOT_JUDGED_BY.keys()


def test_every_table_that_is_watched_or_listed_is_read_by_somebodys_asking(stage):
    read = set()
    for client in (stage.cast.client(stage.ben), stage.cast.application_client()):
        with CaptureQueriesContext(connection) as queries:
            ask(client, stage)
        read |= tables_in(queries, "FROM", "JOIN")

    assert read == WRITES.keys() | NOT_JUDGED_BY.keys()


@pytest.mark.parametrize("table", sorted(WRITES))
def test_a_write_of_a_service_is_noted_and_the_next_answer_is_judged_anew(stage, table):
    write = WRITES[table](stage)
    client = stage.cast.client(stage.ben)
    ask(client, stage)
    before = as_of(cooperative_id=stage.cast.cooperative.id)

    with CaptureQueriesContext(connection) as queries:
        write()

    assert table in tables_in(queries, "INSERT INTO", "UPDATE", "DELETE FROM")
    after = as_of(cooperative_id=stage.cast.cooperative.id)
    assert after.number > before.number
    assert ask(client, stage).content == anew(client, stage)


WRITING = {"create", "bulk_create", "bulk_update", "update", "delete"}
WRITING |= {"get_or_create", "update_or_create"}
ALLOWED = {
    # Claims go with their sit, whose record is written in the same transaction.
    ("scheduling/rotation/placing.py", "SeatClaim"),
    ("scheduling/sits/booking_services.py", "SeatClaim"),
    ("scheduling/sits/handing_over.py", "SeatClaim"),
    ("scheduling/sits/life_services.py", "SeatClaim"),
    # Tells whoever follows, in the same transaction.
    ("properties/wind/fit_services.py", "SessionFit"),
    # Erasing somebody is on record, in the same transaction: of them, who is of the cooperative.
    ("properties/people/erasure.py", "Member"),
    ("properties/people/erasure.py", "Paper"),
    ("properties/people/erasure.py", "YouthRecord"),
    ("scheduling/erasing.py", "Client"),
}


def model_written(call):
    """The model in ``Model.objects.filter(…).delete()`` and the like; None for other calls."""
    chain = []
    place = call.func
    while isinstance(place, ast.Attribute | ast.Call):
        if isinstance(place, ast.Attribute):
            chain.append(place.attr)
        place = place.func if isinstance(place, ast.Call) else place.value
    if isinstance(place, ast.Name) and chain and chain[0] in WRITING and chain[-1] == "objects":
        return place.id
    return None


def test_no_room_writes_such_a_table_by_a_queryset_but_those_listed():
    """That leaves no record; rows one by one are written by ``coop.audit.writing``."""
    models = {model.__name__ for model in apps.get_models() if model._meta.db_table in WRITES}
    found = set()
    for floor in ("properties", "scrapes", "scheduling", "coop"):
        for path in (Path(settings.BASE_DIR) / floor).rglob("*.py"):
            if {"demo", "migrations"} & set(path.parts):
                continue
            calls = (n for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.Call))
            written = {model_written(call) for call in calls} & models
            found |= {(str(path.relative_to(settings.BASE_DIR)), model) for model in written}

    assert found == ALLOWED
