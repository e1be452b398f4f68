"""What free text for landowners may not carry."""

import pytest

from coop.printing.privacy import forbidden_in, withheld
from coop.reports.tables import inert


@pytest.mark.parametrize(
    "text",
    [
        "Call 608-555-0142",
        "call (608) 555-0142 tonight",
        "608.555.0142",
        "555-0142",
        "+1 608 555 0142",
        "+49 170 1234567",
        "write to ann@example.org",
        "at 43.20765, -91.49123",
        "43.20765 N",
        "43°12.46'",
    ],
)
def test_ways_to_reach_people_and_places_are_found(text):
    assert list(forbidden_in(text))
    assert text not in withheld(text)


@pytest.mark.parametrize(
    "text",
    [
        "The lower gate stood open on 10/12/2025 at 6:30 AM.",
        "Chain no. 4 replaced, 120 feet of fence mended, 2.5 acres seeded.",
        "Paid 1,250 dollars for lime (2025-10-09).",
        "",
    ],
)
def test_ordinary_sentences_pass(text):
    assert not list(forbidden_in(text))
    assert withheld(text) == text


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"])
def test_text_cannot_act_as_a_spreadsheets_formula(text):
    assert inert(text) == "'" + text


def test_numbers_stay_numbers_and_nothing_is_empty():
    assert [inert(cell) for cell in (-1, 2.5, None, "a-b")] == [-1, 2.5, "", "a-b"]
