"""Conditions are entered, seen, withdrawn and imported; who may do so, and what is recorded."""

from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from properties.conditions.models import Condition
from tests.cast import NOW

pytestmark = pytest.mark.usefixtures("at_now")
ADDRESS = "/api/v1/conditions/"


@pytest.fixture
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


def body(cast, **changes):
    return {
        "property": str(cast.north.id),
        "kind": "thunder",
        "starts_at": "2025-11-08T15:00:00-06:00",
        "ends_at": "2025-11-08T21:00:00-06:00",
        "thunder_chance": 1,
        "source": "weather office, by radio",
        **changes,
    }


@pytest.mark.parametrize("who", ["manager", "landowner", "coordinator"])
def test_managers_and_landowners_enter_a_condition_which_is_recorded_and_told(cast, who):
    person = getattr(cast, who)

    made = cast.client(person).post(ADDRESS, body(cast), format="json")

    assert made.status_code == 201, made.data
    assert made.data["entered_by"] == person.name
    assert Fact.objects.filter(topic="condition.entered").count() == 1
    event = AuditEvent.objects.get(object_id=made.data["id"])
    assert (event.actor_name, event.action) == (person.name, "condition:write")
    assert cast.client(cast.member).get(made["Location"]).data["thunder_chance"] == 1


def test_a_member_reads_and_does_not_enter_and_a_stranger_sees_nothing(cast):
    made = cast.client(cast.manager).post(ADDRESS, body(cast), format="json")
    member, stranger = cast.client(cast.member), cast.client(cast.stranger)

    assert member.post(ADDRESS, body(cast), format="json").status_code == 403
    assert member.post(f"{made['Location']}withdraw/").status_code == 403
    assert stranger.get(made["Location"]).status_code == 404
    assert stranger.get(ADDRESS).data["results"] == []


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"thunder_chance": None}, "thunder_chance"),
        ({"water_level_m": 2.0}, "water_level_m"),
        ({"kind": "ice"}, "thunder_chance"),
        ({"kind": "fire_danger", "thunder_chance": None}, "fire_danger_level"),
        ({"ends_at": "2025-11-08T14:00:00-06:00"}, "ends_at"),
        ({"ends_at": "2020-01-01T00:00:00Z", "starts_at": "2019-12-31T00:00:00Z"}, "ends_at"),
        ({"thunder_chance": 1.5}, "thunder_chance"),
        ({"source": ""}, "source"),
    ],
)
def test_a_condition_without_the_figure_of_its_kind_is_refused_by_field(cast, changes, field):
    answer = cast.client(cast.manager).post(ADDRESS, body(cast, **changes), format="json")

    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.data["errors"]] == [f"#/{field}"]
    assert not Condition.objects.exists()


def test_withdrawing_twice_is_withdrawing_once_and_the_filter_shows_what_holds(cast):
    manager = cast.client(cast.manager)
    at = manager.post(ADDRESS, body(cast), format="json")["Location"]

    def holding(instant):
        return len(manager.get(ADDRESS, {"holds_at": instant}).data["results"])

    assert holding("2025-11-08T20:59:00Z") == 0
    assert holding("2025-11-08T21:00:00Z") == 1
    assert holding("2025-11-09T03:00:00Z") == 0
    first = manager.post(f"{at}withdraw/", {"reason": "It passed by"}, format="json").data
    second = manager.post(f"{at}withdraw/").data
    assert first["withdrawn_at"] == second["withdrawn_at"] is not None
    assert Fact.objects.filter(topic="condition.withdrawn").count() == 1
    assert holding("2025-11-08T21:00:00Z") == 0


HEADER = "reference,kind,starts_at,ends_at,value\n"
FIRE = "f1,fire_danger,2025-11-08T00:00:00-06:00,2025-11-10T00:00:00-06:00,{}\n"


@pytest.fixture
def imported(cast, tmp_path):
    table = tmp_path / "conditions.csv"

    def run(text):
        table.write_text(HEADER + text)
        told = StringIO()
        call_command(
            "importconditions", str(table), property="North", source="fire office", stdout=told
        )
        return told.getvalue().splitlines()

    return run


def test_the_same_table_again_changes_nothing_and_another_figure_changes_in_place(imported):
    assert imported(FIRE.format(3))[-1] == (
        "1 lines read = 1 entered + 0 changed + 0 over + 0 known already + 0 skipped"
    )
    assert imported(FIRE.format(3))[-1] == (
        "1 lines read = 0 entered + 0 changed + 0 over + 1 known already + 0 skipped"
    )
    assert imported(FIRE.format(5))[-1] == (
        "1 lines read = 0 entered + 1 changed + 0 over + 0 known already + 0 skipped"
    )
    condition = Condition.objects.get()
    assert (condition.fire_danger_level, condition.version) == (5, 2)
    assert Fact.objects.filter(topic="condition.entered").count() == 2


def test_what_is_over_or_cannot_be_read_is_counted_with_its_reason(imported):
    past = "p1,ice,2025-10-01T00:00:00Z,2025-10-02T00:00:00Z,\n"

    told = imported(past + "h1,hail,2025-11-08T00:00:00Z,,\n" + FIRE.format(2))

    assert told == [
        "line 3 skipped: the kind 'hail' is none of thunder, fire_danger, water, ice",
        "3 lines read = 1 entered + 0 changed + 1 over + 0 known already + 1 skipped",
    ]


def test_a_table_of_which_no_line_can_be_used_is_refused_with_the_first_reasons(imported):
    lines = [f"h{number},hail,2025-11-08T00:00:00Z,,\n" for number in range(5)]

    with pytest.raises(CommandError) as refused:
        imported("".join(lines))

    told = str(refused.value).splitlines()
    assert told[0].endswith("conditions.csv: no line can be used")
    assert [line.split(":")[0] for line in told[1:]] == [
        "line 2 skipped",
        "line 3 skipped",
        "line 4 skipped",
    ]


def test_a_table_of_nothing_tells_that_nothing_is_told(imported):
    assert imported("")[-1].startswith("0 lines read = 0 entered")


def test_a_table_without_its_columns_is_refused_with_the_names(cast, tmp_path):
    table = tmp_path / "conditions.csv"
    table.write_text("kind\nice\n")

    with pytest.raises(CommandError, match="reference"):
        call_command("importconditions", str(table), property="North", source="x")
