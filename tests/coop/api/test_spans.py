"""A span is asked for in one way everywhere: local dates by first_on and last_on."""

import pytest
from drf_spectacular.generators import SchemaGenerator

OTHER_WORDS = {"from", "to", "start", "end", "begin", "after", "before", "start_date", "end_date"}
PAIRS = ({"first_on", "last_on"}, {"since", "until"})
OPEN_AT_ONE_END = {
    "/api/v1/audit-events/",
    "/api/v1/offers/changes/",
    "/api/v1/sits/changes/",
}
"""Asked for what is new since then, and has no end."""

BY_DAYS = {"/api/v1/work-days/"}
"""Asked for by local dates, whatever the names."""


def asked_by_path() -> dict[str, set[str]]:
    paths = SchemaGenerator().get_schema(request=None, public=True)["paths"]
    return {
        path: {each["name"] for each in calls["get"].get("parameters", ()) if each["in"] == "query"}
        for path, calls in paths.items()
        if "get" in calls
    }


def test_no_list_has_words_of_its_own_for_a_span():
    strange = {
        path: names & OTHER_WORDS for path, names in asked_by_path().items() if names & OTHER_WORDS
    }
    assert strange == {}


def test_whoever_asks_for_a_beginning_may_ask_for_an_end():
    halves = {
        path: names & pair
        for path, names in asked_by_path().items()
        for pair in PAIRS
        if len(names & pair) == 1 and path not in OPEN_AT_ONE_END
    }
    assert halves == {}


@pytest.mark.parametrize(
    ("span", "at_fault", "lists"),
    [
        ({"first_on": "2025-11-05", "last_on": "2025-11-01"}, "?last_on", 6),
        ({"since": "2025-11-05T12:00:00Z", "until": "2025-11-01T12:00:00Z"}, "?since", 6),
        ({"week_from": "2026-W01", "week_until": "2025-W45"}, "?week_from", 1),
        (
            {"happened_at__gte": "2025-11-05T12:00:00Z", "happened_at__lt": "2025-11-01T12:00:00Z"},
            "?happened_at__gte",
            2,
        ),
        (
            {"happened_on__gte": "2025-11-05", "happened_on__lte": "2025-11-01"},
            "?happened_on__gte",
            1,
        ),
    ],
)
def test_no_question_takes_a_span_that_ends_before_it_begins(cast, span, at_fault, lists):
    client = cast.client(cast.coordinator)
    asked = {path: names for path, names in asked_by_path().items() if names >= set(span)}
    told = {}
    for path, names in asked.items():
        if "{" not in path:
            where = {"property": cast.north.id} if "property" in names else {}
            days = {name: value[:10] for name, value in span.items()}
            answer = client.get(path, {**(days if path in BY_DAYS else span), **where})
            told[path] = answer.status_code, [e["pointer"] for e in answer.data.get("errors", ())]

    assert len(told) >= lists
    assert {path: one for path, one in told.items() if one != (400, [at_fault])} == {}


def test_a_span_without_length_and_one_open_at_an_end_are_taken(cast):
    client = cast.client(cast.coordinator)
    noon = "2025-11-05T12:00:00Z"
    for asked in ({"since": noon, "until": noon}, {"since": noon}, {"until": noon}):
        assert client.get("/api/v1/harvests/", asked).status_code == 200


def test_instants_are_compared_whatever_their_offsets(cast):
    def asked(since, until):
        answer = cast.client(cast.coordinator).get(
            "/api/v1/harvests/", {"since": since, "until": until}
        )
        return answer.status_code

    assert asked("2025-11-05T12:00:00Z", "2025-11-05T12:30:00+01:00") == 400
    assert asked("2025-11-05T12:30:00+01:00", "2025-11-05T12:00:00Z") == 200


def test_a_week_that_is_none_is_told_as_such_beside_any_other(cast):
    asked = {"week_from": "w", "week_until": "2025-W45"}
    answer = cast.client(cast.coordinator).get("/api/v1/work-items/", asked)
    (error,) = answer.data["errors"]
    assert error["pointer"] == "?week_from"
    assert "is no week" in error["detail"]


def test_spans_are_asked_for_somewhere():
    by_dates = [path for path, names in asked_by_path().items() if names >= PAIRS[0]]
    assert len(by_dates) > 5
