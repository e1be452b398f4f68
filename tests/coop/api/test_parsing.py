"""JSON that one database or one reader could not keep is refused everywhere, and says where."""

import json

import pytest
from django.test import RequestFactory
from rest_framework.parsers import JSONParser

from coop.api import parsing
from coop.wsgi import application
from tests.coop.access.test_routes import api_views

URL = "/api/v1/persons/"


@pytest.fixture
def send(cast):
    client = cast.client(cast.coordinator)

    def sent(text, **options):
        body = text.encode() if isinstance(text, str) else text
        return client.post(URL, body, content_type="application/json", **options)

    return sent


@pytest.mark.parametrize(
    ("text", "pointer", "code"),
    [
        ('{"name": "a\\u0000b"}', "#/name", "no_text"),
        ('{"name": ["", {"x": "\\ud800"}]}', "#/name/1/x", "no_text"),
        ('{"name": {"\\udfff": 1}}', "#/name", "no_text"),
        ('{"a/b": {"m~n": "\\u0000"}}', "#/a~1b/m~0n", "no_text"),
        ('{"name": "\\udc00\\ud800"}', "#/name", "no_text"),
        ('{"name": 1e400}', "#/name", "no_number"),
        ('{"name": [1, -1E999]}', "#/name/1", "no_number"),
        (f'{{"name": {"9" * 400}.5}}', "#/name", "no_number"),
        ('{"name": NaN}', "#", "parse_error"),
        ('{"name": -Infinity}', "#", "parse_error"),
        (f'{{"name": {"9" * 5000}}}', "#", "parse_error"),
        ('{"name": ', "#", "parse_error"),
        (b'{"name": "\xff"}', "#", "parse_error"),
        ('{"name": "x"}'.encode("utf-16"), "#", "parse_error"),
        ("[" * 100_000, "#", "too_deep"),
        ('{"a":' * 100_000, "#", "too_deep"),
    ],
)
def test_what_cannot_be_kept_is_refused_with_its_place(send, text, pointer, code):
    answer = send(text)

    assert (answer.status_code, answer.data["code"]) == (400, "invalid_input")
    assert [(one["pointer"], one["code"]) for one in answer.data["errors"]] == [(pointer, code)]


def test_a_nesting_is_followed_to_its_limit_and_no_further(send):
    def nested(levels):
        return f'{{"name": {"[" * (levels - 1)}{"]" * (levels - 1)}}}'

    allowed, refused = send(nested(parsing.DEEPEST)), send(nested(parsing.DEEPEST + 1))

    assert "too_deep" not in str(allowed.data)
    assert refused.data["errors"][0]["code"] == "too_deep"


@pytest.mark.parametrize("name", ["Zoë 🦌", "a\\b", "\u2028", "\ufeff", "x\u0001"])
def test_every_other_text_is_taken_whether_escaped_or_not(cast, send, name):
    for ascii_only in (True, False):
        body = {"cooperative": str(cast.cooperative.id), "name": name.strip() or "x"}
        assert "no_text" not in str(send(json.dumps(body, ensure_ascii=ascii_only)).data)


def test_a_charset_beside_the_media_type_changes_nothing(cast):
    client = cast.client(cast.coordinator)
    for charset in ("utf-16", "latin-1", "nonsense"):
        answer = client.post(
            f"{URL}?fields=id", b"[]", content_type=f"application/json; charset={charset}"
        )
        assert (charset, answer.status_code) == (charset, 400)


@pytest.mark.parametrize("charset", ["zip", "base64", "rot13", "hex", '"z\\"ip"', "a b", "x\0"])
@pytest.mark.parametrize("path", [URL, "/docs/"])
@pytest.mark.parametrize("media_type", ["application/json", "multipart/form-data; boundary=x"])
def test_a_charset_that_is_no_way_to_write_text_is_passed_over(db, path, charset, media_type):
    environ = RequestFactory().post(f"{path}?x=1").environ
    environ["CONTENT_TYPE"] = f"{media_type}; charset={charset}"
    told = []

    list(application(environ, lambda status, _headers: told.append(int(status[:3]))))

    assert told[0] in (400, 403, 405, 415), told


def test_no_view_reads_json_in_another_way():
    for _pattern, view, actions in api_views():
        for action in (actions or {}).values():
            options = getattr(getattr(view, action), "kwargs", {})
            read_by = options.get("parser_classes", view.parser_classes)
            assert not [each for each in read_by if each is JSONParser], (view, action)
            assert read_by, (view, action)
