"""The sheet's first line: whom to call, or that nobody entered it."""

from properties.emergency.cautions import sheet_cautions


def test_the_first_caution_names_the_local_number_or_says_that_none_was_entered():
    assert "number first (112)." in sheet_cautions(local_emergency_number="112")[0]
    assert "number first (not entered here)." in sheet_cautions(local_emergency_number="")[0]
