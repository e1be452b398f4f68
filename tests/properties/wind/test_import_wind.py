"""The command that takes a weather file in: what it keeps, and how it fails."""

import pytest
from django.core.management import CommandError, call_command

from properties.wind.models import ForecastIssue, ObservedHour

HEADER = "time,wind_from_deg,speed_mps\n"
GOOD = "2025-11-01T10:00:00Z,270,3\n"
BAD = "2025-11-01T09:00:00Z,700,-1\n"


@pytest.fixture
def taken(cast, tmp_path, capsys):
    file = tmp_path / "wind.csv"

    def run(text, *options):
        file.write_text(HEADER + text)
        call_command("importwind", str(file), "--property", "North", "--format", "csv", *options)
        return capsys.readouterr().out

    return run


def test_an_hour_that_cannot_be_is_left_out_beside_one_that_can(taken):
    told = taken(GOOD + BAD)

    assert "2 read = 1 taken + 1 skipped" in told
    assert ObservedHour.objects.get().wind_from_deg == 270


@pytest.mark.parametrize("what", ["observations", "forecast"])
def test_a_file_of_which_no_hour_can_be_used_fails_with_the_first_reasons(taken, what):
    with pytest.raises(CommandError) as refused:
        taken(BAD + "yesterday,90,3\n" + 3 * BAD, "--as", what)

    told, *reasons = str(refused.value).splitlines()
    assert "wind.csv: no hour can be used: 5 read = 0 taken + 5 skipped" in told
    assert [reason.split(":")[0] for reason in reasons] == ["line 2", "line 3", "line 4"]
    assert "direction 700" in reasons[0]
    assert "speed -1" in reasons[0]
    assert not ObservedHour.objects.exists()
    assert not ForecastIssue.objects.exists()


def test_a_file_without_an_hour_fails(taken):
    with pytest.raises(CommandError, match="no hour can be used: 0 read"):
        taken("")
