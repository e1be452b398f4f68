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


def test_spans_are_asked_for_somewhere():
    by_dates = [path for path, names in asked_by_path().items() if names >= PAIRS[0]]
    assert len(by_dates) > 5
