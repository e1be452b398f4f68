"""A session has a kind, a sit has a span; the description says so wherever either stands."""

from drf_spectacular.generators import SchemaGenerator

from properties.sessions.kinds import KIND_WORDS, SPAN_WORDS


def test_the_description_tells_the_two_words_apart_where_they_stand():
    described = SchemaGenerator().get_schema(request=None, public=True)
    schemas = described["components"]["schemas"]

    for name in ("OfferedSession", "Fit", "OtherSession"):
        assert schemas[name]["properties"]["kind"]["description"].startswith(KIND_WORDS), name
    for name in ("Sit", "BookingRequest", "WaitRequest"):
        assert schemas[name]["properties"]["span"]["description"].startswith(SPAN_WORDS), name
    for path in ("/api/v1/offers/", "/api/v1/fits/"):
        parameters = {one["name"]: one for one in described["paths"][path]["get"]["parameters"]}
        assert KIND_WORDS in parameters["kind"]["description"], path


def test_each_word_names_the_other_or_says_what_it_holds():
    assert "`span`" in KIND_WORDS
    assert "kinds of a session" in SPAN_WORDS
    assert "all_day" in SPAN_WORDS
