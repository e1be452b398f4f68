"""Bodies on the pages are true to the description of the API.

A block of JSON under a line that begins with an address (`POST /api/v1/…/`) is a body to send. Its
words in capitals stand for ids.
"""

import json
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import jsonschema
import pytest
import yaml

from coop.docs.views import FOLDER

BLOCK = re.compile(r"```json\n(.*?)```", re.DOTALL)
BODY = re.compile(
    r"^`(POST|PUT|PATCH) (/api/v1/[^`]*)`[^\n]*\n\n```json\n(.*?)```", re.MULTILINE | re.DOTALL
)
ID_WORD = re.compile(r"(?!USD)[A-Z]{3,}")
SOME_ID = "0193a1c2-0000-7000-8000-000000000001"
ANSWERS = {"problems": 1, "sync": 1}
"""Pages whose other blocks show answers, and how many."""

MAIN_VERBS = {
    "leases": ["POST leases/", "POST leases/{id}/withdraw/", "POST rents/"],
    "land-calendar": ["POST closures/"],
    "obligations": ["POST papers/", "POST dues/", "POST work-days/", "POST youths/"],
    "regulations": ["POST regulations/", "POST seasons/"],
    "rules": ["POST conditions/", "POST sit-transfers/", "POST waiting-list/"],
    "arrival": ["POST gates/", "PUT gates/{id}/code/", "POST driving-directions/"],
    "emergency": ["POST emergency-sheets/", "PUT medical-notes/mine/", "POST emergencies/"],
    "incidents": ["POST incidents/", "POST incidents/{id}/release/"],
    "tracking": ["POST trackings/", "POST trackers/", "POST trackings/{id}/end/"],
    "harvest": ["POST harvest-plans/", "POST tags/", "POST harvests/"],
    "herd": ["POST camera-surveys/", "PATCH camera-surveys/{id}/"],
    "siting": ["POST siting/judge/", "POST siting/search/"],
    "visits": ["POST observation-sources/"],
    "rotation": ["POST rotation-plans/recompute/", "POST sit-requests/"],
}


@dataclass(frozen=True)
class Body:
    page: str
    method: str
    path: str
    text: str

    @property
    def verb(self) -> str:
        return f"{self.method} {self.path.removeprefix('/api/v1/')}"


def pages() -> dict[str, str]:
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted(FOLDER.glob("*.md"))}


def bodies() -> list[Body]:
    return [Body(page, *found) for page, text in pages().items() for found in BODY.findall(text)]


@lru_cache
def description() -> dict[str, Any]:
    text = (FOLDER / "openapi.yml").read_text(encoding="utf-8")
    found: dict[str, Any] = yaml.load(text, Loader=yaml.CSafeLoader)
    return found


def schema_of(body: Body) -> dict[str, Any]:
    """The schema of the request's JSON; raises ``KeyError`` where the API takes none there."""
    operation = description()["paths"][body.path][body.method.lower()]
    found: dict[str, Any] = operation["requestBody"]["content"]["application/json"]["schema"]
    return found


def resolved(schema: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in schema:
        schema = description()["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
    return schema


def with_ids(value: Any) -> Any:
    if isinstance(value, dict):
        return {with_ids(key): with_ids(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [with_ids(inner) for inner in value]
    return SOME_ID if isinstance(value, str) and ID_WORD.fullmatch(value) else value


def faults_of(body: Body) -> list[str]:
    """What the description says against a body, members that it does not know among it."""
    sent, schema = with_ids(json.loads(body.text)), schema_of(body)
    whole = {**schema, "components": description()["components"]}
    checker = jsonschema.Draft202012Validator(
        whole, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )
    taken = resolved(schema).get("properties", {})
    return [error.message for error in checker.iter_errors(sent)] + [
        f"{name} is not taken"
        for name in sent
        if name not in taken or resolved(taken[name]).get("readOnly")
    ]


@pytest.mark.parametrize("body", bodies(), ids=lambda one: f"{one.page}: {one.verb}")
def test_a_body_is_what_the_api_takes(body: Body) -> None:
    assert faults_of(body) == []


@pytest.mark.parametrize("page", sorted(pages()))
def test_every_block_of_json_says_where_it_is_sent_or_is_an_answer(page: str) -> None:
    text = pages()[page]

    assert len(BLOCK.findall(text)) == len(BODY.findall(text)) + ANSWERS.get(page, 0)


@pytest.mark.parametrize("page", sorted(MAIN_VERBS))
def test_a_page_shows_what_to_send_for_its_main_verbs(page: str) -> None:
    shown = {body.verb for body in bodies() if body.page == page}

    assert set(MAIN_VERBS[page]) <= shown


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('{"property": "PROPERTY"}', "'first_on' is a required property"),
        (
            '{"property": "the north", "first_on": "2026-12-05", "last_on": "2026-12-06", '
            '"reason": "Fire"}',
            "is not a 'uuid'",
        ),
        (
            '{"property": "PROPERTY", "first_on": "5 Dec", "last_on": "2026-12-06", '
            '"reason": "Fire"}',
            "is not a 'date'",
        ),
        (
            '{"property": "PROPERTY", "first_on": "2026-12-05", "last_on": "2026-12-06", '
            '"reason": "Fire", "why": "Fire"}',
            "why is not taken",
        ),
    ],
)
def test_a_body_that_the_api_would_refuse_is_found_out(text: str, fault: str) -> None:
    faults = faults_of(Body("land-calendar", "POST", "/api/v1/closures/", text))

    assert any(fault in one for one in faults)
