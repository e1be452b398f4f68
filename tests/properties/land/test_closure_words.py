"""A reason as the end of a sentence."""

import pytest

from properties.land.closure_words import as_ending


@pytest.mark.parametrize(
    ("entered", "told"),
    [
        ("Cattle moved", "Cattle moved."),
        ("Cattle moved.", "Cattle moved."),
        ("Cattle moved. ", "Cattle moved."),
        ("Cattle moved..", "Cattle moved."),
        ("Cattle moved. Keep out.", "Cattle moved. Keep out."),
        ("Bull out!", "Bull out!"),
        ("", "no reason is recorded."),
        (" .", "no reason is recorded."),
    ],
)
def test_a_reason_ends_with_one_full_stop_however_it_was_entered(entered, told):
    assert as_ending(entered) == told
