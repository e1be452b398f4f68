"""Lists come in pages; their cursors are taken as they were given."""

import pytest


@pytest.mark.parametrize("cursor", ["post", "cD1ub3BhcnNl"])
def test_a_cursor_that_no_page_gave_is_bad_input_and_named(cast, cursor):
    answer = cast.client(cast.manager).get(f"/api/v1/stands/?cursor={cursor}")
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "?cursor"
