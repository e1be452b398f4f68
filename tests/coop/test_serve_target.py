"""`make serve` listens where it is told to."""

import subprocess
from pathlib import Path

import pytest
from django.conf import settings

from coop.management.commands.serve import environment


@pytest.mark.parametrize(
    ("given", "ending"),
    [
        ([], "manage.py serve"),
        (["BIND=127.0.0.1:8001"], "manage.py serve --bind 127.0.0.1:8001"),
    ],
)
def test_make_serve_hands_on_where_to_listen(given, ending):
    told = subprocess.run(
        ["make", "--no-print-directory", "-n", "serve", *given],
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=True,
    )

    assert told.stdout.rstrip().splitlines()[-1].rstrip().endswith(ending)


@pytest.mark.parametrize(
    ("given", "bind", "links"),
    [
        ({}, "127.0.0.1:8001", "http://127.0.0.1:8001"),
        ({}, "0.0.0.0:8000", "http://127.0.0.1:8000"),
        ({"COOP_BASE_URL": "https://deer.example"}, "0.0.0.0:8000", "https://deer.example"),
    ],
)
def test_letters_link_to_where_it_listens_unless_told_where_readers_come(given, bind, links):
    told = environment({"HOME": "/nowhere", **given}, bind=bind, counts=Path("/counts"))

    assert told["COOP_BASE_URL"] == links
    assert (told["HOME"], told["PROMETHEUS_MULTIPROC_DIR"]) == ("/nowhere", "/counts")
