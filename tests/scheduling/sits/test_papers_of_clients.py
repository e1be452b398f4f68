"""The papers that an outfitter names of a client: each once, and the fault is at the second."""

import pytest

from properties.people.models import Paper, Person
from scheduling.sits.models import Sit
from tests.scheduling.sits.stage import CLIENT, DAY

pytestmark = pytest.mark.usefixtures("at_now")


def book(stage, papers, span="evening"):
    return stage.cast.application_client().post(
        "/api/v1/sits/",
        {
            "stand": str(stage.creek.id),
            "local_date": str(DAY),
            "span": span,
            "client": {**CLIENT, "papers": papers},
        },
    )


TWICE = [*CLIENT["papers"], {"kind": "licence", "expires_on": "2020-01-01"}]


def test_a_paper_named_twice_for_a_new_client_is_told_of_the_second(stage):
    answer = book(stage, TWICE)

    assert answer.status_code == 400
    assert answer.json()["errors"] == [
        {
            "pointer": "#/client/papers/3/kind",
            "detail": "Each paper is named once.",
            "code": "invalid",
        }
    ]
    assert not Person.objects.filter(name=CLIENT["name"]).exists()


def test_a_paper_named_twice_for_a_known_client_is_told_too_and_changes_nothing(stage):
    assert book(stage, CLIENT["papers"]).status_code == 201

    answer = book(stage, TWICE, span="morning")

    (error,) = answer.json()["errors"]
    assert error["pointer"] == "#/client/papers/3/kind"
    assert Paper.objects.get(person__name=CLIENT["name"], kind="licence").expires_on is None
    assert Sit.objects.count() == 1
