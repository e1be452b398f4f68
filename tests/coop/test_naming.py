"""Somebody is found in texts by their names and addresses, and nobody else with them."""

import pytest

from coop.naming import KnownAs

ANN = KnownAs(
    names=frozenset({"Ann Lee", "Oak", "Pat O'Neil"}), addresses=frozenset({"ann@a.example"})
)


@pytest.mark.parametrize(
    "text",
    ["Ann Lee", "for Ann Lee.", "Ann Lee's stand", "(Ann Lee)", "Oak", "Pat O'Neil saw it"],
)
def test_a_name_is_found_in_a_text_and_one_word_where_it_stands_alone(text):
    assert ANN.are_named_in(text)
    assert "Ann Lee" not in ANN.out_of(text, instead="X")


@pytest.mark.parametrize(
    "text", ["Ann Leeson", "Joann Lee", "Mary-Ann Lee", "Ann Lee-Jones", "ann lee", "Oak ladder"]
)
def test_whoever_has_a_longer_name_or_the_ground_a_word_of_it_is_somebody_else(text):
    assert not ANN.are_named_in(text)
    assert ANN.out_of(text, instead="X") == text
    assert ANN.out_of_page(f"<p>{text}</p>", instead="X") == f"<p>{text}</p>"


@pytest.mark.parametrize("text", ["ann@a.example", "to ann@a.example.", "<Ann@A.example>"])
def test_an_address_is_found_whatever_its_case(text):
    assert ANN.have_address_in(text)


@pytest.mark.parametrize(
    "text", ["joann@a.example", "mary.ann@a.example", "ann@a.example.org", "ann@a.example-b.org"]
)
def test_a_longer_address_is_somebody_elses(text):
    assert not ANN.have_address_in(text)
    assert ANN.out_of(text, instead="X") == text


def test_names_within_json_values_become_another_word_and_figures_stay():
    told = {"who": ["Ann Lee", {"deer": 2, "note": "seen by Ann Lee"}], "stand": "Oak ladder"}

    assert ANN.are_named_in(told)
    assert ANN.out_of(told, instead="X") == {
        "who": ["X", {"deer": 2, "note": "seen by X"}],
        "stand": "Oak ladder",
    }


def test_a_page_writes_an_apostrophe_as_html_does():
    page = "<p>Pat O&#x27;Neil sat</p><td> Oak </td>"

    assert ANN.are_named_on(page)
    assert ANN.out_of_page(page, instead="X") == "<p>X sat</p><td>X</td>"


def test_of_nobody_nothing_is_found():
    nobody = KnownAs(names=frozenset(), addresses=frozenset())

    assert not nobody.are_named_in("")
    assert not nobody.have_address_in("")
    assert nobody.out_of_page("<p></p>", instead="X") == "<p></p>"
