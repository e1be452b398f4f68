"""Whoever reads the documentation is made known to no other host."""

import re
from html.parser import HTMLParser

import pytest
from django.test import Client
from django.urls import reverse

from tests.coop.docs.test_pages import PAGES, address

ADDRESSES = [*map(address, PAGES), reverse("api-explorer"), reverse("api-reference")]
FOREIGN = re.compile(r"(?:https?:)?//[\w-]+(?:\.[\w-]+)+", re.IGNORECASE)


class _Fetched(HTMLParser):
    """The addresses that a browser fetches by itself, and the texts of scripts and styles."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.addresses: list[str] = []
        self.programs: list[str] = []
        self._is_program = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._is_program = tag in ("script", "style")
        if tag != "a":
            self.addresses += [value or "" for name, value in attrs if name in ("src", "href")]

    def handle_endtag(self, tag: str) -> None:
        self._is_program = False

    def handle_data(self, data: str) -> None:
        if self._is_program:
            self.programs.append(data)


def foreign_in(html):
    fetched = _Fetched(html)
    return [text for text in [*fetched.addresses, *fetched.programs] if FOREIGN.search(text)]


@pytest.mark.parametrize("path", ADDRESSES)
def test_a_page_names_no_other_host_and_forbids_loading_from_one(path):
    answer = Client().get(path)

    assert answer.status_code == 200
    assert foreign_in(answer.content.decode()) == []
    policy = answer["Content-Security-Policy"]
    assert policy.startswith("default-src 'self'")
    assert not FOREIGN.search(policy)
    assert "http" not in policy
    assert "*" not in policy


def test_the_reference_and_the_explorer_still_load_their_own_programs():
    for name in ("api-explorer", "api-reference"):
        fetched = _Fetched(Client().get(reverse(name)).content.decode()).addresses
        assert [one for one in fetched if one.startswith("/static/") and one.endswith(".js")], name


def test_the_search_finds_fonts_and_scripts_of_other_hosts():
    assert foreign_in('<link rel="preconnect" href="https://fonts.example.org">')
    assert foreign_in('<script src="//cdn.example.org/a.js"></script>')
    assert foreign_in("<style>@import url(https://fonts.example.org/a)</style>")
    assert not foreign_in('<a href="https://example.org/">a source</a>')
