"""A span is asked for in one way everywhere: local dates by first_on and last_on."""

from drf_spectacular.generators import SchemaGenerator

OTHER_WORDS = {"from", "to", "start", "end", "begin", "after", "before", "start_date", "end_date"}
PAIRS = ({"first_on", "last_on"}, {"since", "until"})
OPEN_AT_ONE_END = {
    "/api/v1/audit-events/",
    "/api/v1/offers/changes/",
    "/api/v1/sits/changes/",
}
"""Asked for what is new since then, and has no end."""


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


def test_no_question_takes_a_span_that_ends_before_it_begins(cast):
    client = cast.client(cast.coordinator)
    asked = {path: names for path, names in asked_by_path().items() if names >= PAIRS[0]}
    span = {"first_on": "2025-11-05", "last_on": "2025-11-01"}
    told = {}
    for path, names in asked.items():
        if "{" not in path:
            where = {"property": cast.north.id} if "property" in names else {}
            answer = client.get(path, {**span, **where})
            told[path] = answer.status_code, [e["pointer"] for e in answer.data.get("errors", ())]

    assert len(told) > 5
    assert {path: one for path, one in told.items() if one != (400, ["?last_on"])} == {}


def test_spans_are_asked_for_somewhere():
    by_dates = [path for path, names in asked_by_path().items() if names >= PAIRS[0]]
    assert len(by_dates) > 5
