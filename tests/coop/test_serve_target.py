"""`make serve` listens where it is told to."""

import subprocess

import pytest
from django.conf import settings


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
