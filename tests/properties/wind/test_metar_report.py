"""Surface reports: wind groups by the code form's rules, and bulletins with many reports."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from metar import Metar

from properties.wind.metar_bulletin import read_metar_bulletin, split_bulletin
from properties.wind.metar_report import (
    UnreadableReport,
    WindKind,
    read_metar_report,
)
from properties.wind.weather_hours import PlausibleWeather

NOW = datetime(2026, 11, 14, 15, 30, tzinfo=UTC)
KNOT = 0.514444  # m/s


def report(wind, *, station="KABC", time="141453Z", rest="10SM FEW020 08/M01 A3001"):
    return " ".join(part for part in ("METAR", station, time, wind, rest) if part)


def wind_of(group, **parts):
    return read_metar_report(report(group, **parts), reference=NOW).wind


def refusal(text, reference=NOW):
    with pytest.raises(UnreadableReport) as refused:
        read_metar_report(text, reference=reference)
    return refused.value


def test_a_steady_wind_is_where_it_blows_from_in_metres_per_second():
    wind = wind_of("26009KT")
    assert (wind.kind, wind.wind_from_deg, wind.gust_mps) == (WindKind.STEADY, 260, None)
    assert wind.speed_mps == pytest.approx(9 * KNOT, rel=1e-5)


def test_calm_is_not_a_north_wind():
    wind = wind_of("00000KT")
    assert (wind.kind, wind.wind_from_deg, wind.speed_mps) == (WindKind.CALM, None, 0)
    assert wind_of("36004KT").wind_from_deg == 360


@pytest.mark.parametrize("group", ["09000KT", "VRB00KT"])
def test_at_speed_nought_whatever_stands_for_the_direction_means_nothing(group):
    assert wind_of(group).kind is WindKind.CALM
    assert wind_of(group).wind_from_deg is None


@pytest.mark.parametrize(("group", "knots", "gust"), [("VRB03KT", 3, None), ("VRB12G22KT", 12, 22)])
def test_a_variable_wind_has_speed_and_no_direction(group, knots, gust):
    wind = wind_of(group)
    assert (wind.kind, wind.wind_from_deg) == (WindKind.VARIABLE, None)
    assert wind.speed_mps == pytest.approx(knots * KNOT, rel=1e-5)
    assert wind.gust_mps == (None if gust is None else pytest.approx(gust * KNOT, rel=1e-5))


@pytest.mark.parametrize(
    ("group", "speed_mps", "gust_mps"),
    [
        ("18013G21KT", 13 * KNOT, 21 * KNOT),
        ("31005MPS", 5, None),
        ("31005G12MPS", 5, 12),
        ("09036KMH", 10, None),
        ("310100KT", 100 * KNOT, None),
    ],
)
def test_units_gusts_and_three_digit_speeds(group, speed_mps, gust_mps):
    wind = wind_of(group)
    assert wind.speed_mps == pytest.approx(speed_mps, rel=1e-5)
    assert wind.gust_mps == (None if gust_mps is None else pytest.approx(gust_mps, rel=1e-5))


def test_more_than_ninety_nine_knots_is_kept_as_a_lower_bound_and_marked():
    wind = wind_of("270P99KT")
    assert (wind.wind_from_deg, wind.speed_exceeded) == (270, True)
    assert wind.speed_mps == pytest.approx(99 * KNOT, rel=1e-5)
    assert not wind_of("27020KT").speed_exceeded


def test_a_variation_runs_clockwise_also_through_north():
    wind = wind_of("01008KT 350V020")
    assert (wind.varies_from_deg, wind.varies_to_deg) == (350, 20)
    assert wind.wind_from_deg == 10


@pytest.mark.parametrize("group", ["/////KT", "MMMMMKT", "/////", "/////MPS", ""])
def test_a_missing_wind_is_unknown_and_neither_calm_nor_an_error(group):
    wind = wind_of(group)
    assert (wind.kind, wind.wind_from_deg, wind.speed_mps) == (WindKind.UNKNOWN, None, None)


def test_half_of_a_wind_may_be_missing():
    assert wind_of("///05KT").wind_from_deg is None
    assert wind_of("///05KT").speed_mps == pytest.approx(5 * KNOT, rel=1e-5)
    assert wind_of("090//KT").wind_from_deg == 90
    assert wind_of("090//KT").speed_mps is None


def test_a_visibility_in_the_place_of_a_missing_wind_is_no_wind():
    assert wind_of("", rest="9999 FEW020 08/02 Q1016").kind is WindKind.UNKNOWN


@pytest.mark.parametrize(
    "group",
    [
        "90010KT",
        "37010KT",
        "9010KT",
        "09010 KT",
        "09010MPH",
        "09010",
        "09010G20",
        "VAR10KT",
        "VRB05",
        "OOOOOKT",
        "O9010KT",
        "09O10KT",
        "00005KT",
        "09510KT",
        "09010GKT",
        "09020G10KT",
        "KT",
        "09010KT 09012KT",
        "09010KT 370V020",
    ],
)
def test_a_malformed_wind_group_is_refused_and_never_guessed(group):
    assert refusal(report(group)).code == "malformed_wind"


def test_a_wind_sent_after_the_sky_groups_is_still_the_wind():
    late = "KABC 141453Z FEW029TCU SCT250 12007KT 7SM 30/25 A3008"
    assert read_metar_report(late, reference=NOW).wind.wind_from_deg == 120


@pytest.mark.parametrize(
    "rest",
    [
        "9999 NOSIG RMK PK WND 29028/1417",
        "9999 TEMPO 25015G25KT",
        "9999 BECMG FM1600 30012KT",
        "9999 FM1600 30012KT",
        "9999 RMK WIND AT RIDGE 28030KT",
    ],
)
def test_peak_wind_and_trend_are_not_the_current_wind(rest):
    assert wind_of("", rest=rest).kind is WindKind.UNKNOWN
    assert wind_of("VRB02KT", rest=rest).gust_mps is None


@pytest.mark.parametrize("modifier", ["AUTO", "COR"])
def test_a_modifier_before_the_wind_changes_nothing(modifier):
    assert wind_of(f"{modifier} 26009KT").wind_from_deg == 260


@pytest.mark.parametrize(
    ("time", "reference", "instant"),
    [
        ("141453Z", NOW, datetime(2026, 11, 14, 14, 53, tzinfo=UTC)),
        ("150000Z", NOW, datetime(2026, 10, 15, tzinfo=UTC)),
        ("311200Z", NOW, datetime(2026, 10, 31, 12, tzinfo=UTC)),
        ("311200Z", datetime(2026, 3, 1, tzinfo=UTC), datetime(2026, 1, 31, 12, tzinfo=UTC)),
        ("312300Z", datetime(2027, 1, 1, 2, tzinfo=UTC), datetime(2026, 12, 31, 23, tzinfo=UTC)),
        ("291200Z", datetime(2028, 3, 1, tzinfo=UTC), datetime(2028, 2, 29, 12, tzinfo=UTC)),
        # stamped ten minutes ahead of the reader's clock: today's, not last month's
        ("141540Z", NOW, datetime(2026, 11, 14, 15, 40, tzinfo=UTC)),
    ],
)
def test_the_day_is_the_latest_past_one_seen_from_the_reference(time, reference, instant):
    found = read_metar_report(report("26009KT", time=time), reference=reference)
    assert found.instant == instant


@given(
    instant=st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)),
    hours_before=st.integers(0, 27 * 24),
)
def test_any_report_of_the_last_four_weeks_finds_its_own_date_again(instant, hours_before):
    made = (instant - timedelta(hours=hours_before)).replace(second=0, microsecond=0)
    found = read_metar_report(report("26009KT", time=f"{made:%d%H%M}Z"), reference=instant)
    assert found.instant == made


@pytest.mark.parametrize("time", ["O81354Z", "141453", "321200Z", "142460Z", "142500Z", "001200Z"])
def test_a_malformed_time_is_refused(time):
    assert refusal(report("26009KT", time=time)).code == "malformed_time"


def test_how_far_ahead_a_report_may_be_stamped_can_be_changed():
    text = report("26009KT", time="141540Z")
    strict = read_metar_report(text, reference=NOW, future_tolerance=timedelta(0))
    assert strict.instant == datetime(2026, 10, 14, 15, 40, tzinfo=UTC)


def test_a_reference_without_zone_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="aware"):
        read_metar_report(report("26009KT"), reference=NOW.replace(tzinfo=None))


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("METAR KABC 141453Z NIL=", "no_report"),
        ("METAR KABC 141453Z 260\x0709KT 10SM", "strange_character"),
        ("METAR KABC 141453Z 26009KT 10SM ☀", "strange_character"),
        ("the wind is westerly", "not_a_report"),
        ("", "not_a_report"),
        ("KABC 141130Z 1412/1512 27010KT P6SM SKC", "forecast"),
        ("METAR KABC 141453Z " + "A" * 2000, "too_long"),
    ],
)
def test_what_cannot_be_a_report_is_refused(text, code):
    assert refusal(text).code == code


def test_temperature_sky_and_rain_are_read_and_the_raw_text_kept():
    text = report("26009KT", rest="3SM RA SCT020 BKN045 08/06 A2990 RMK AO2 P0010 T00780061")
    hour = read_metar_report(f"{text}=", reference=NOW).weather_hour()

    assert hour.temperature_c == pytest.approx(7.8)  # tenths, from the remarks
    assert hour.cloud_fraction == pytest.approx(6 / 8)
    assert hour.precipitation_mm == pytest.approx(2.54)  # ten hundredths of an inch
    assert (hour.source, hour.raw) == ("METAR KABC", text)


@pytest.mark.parametrize(
    ("sky", "fraction"),
    [("CLR", 0), ("OVC008", 1), ("VV002", 1), ("NSC", None), ("CAVOK", None), ("//////", None)],
)
def test_sky_words_become_a_share_only_where_they_tell_one(sky, fraction):
    found = read_metar_report(report("26009KT", rest=f"{sky} 08/06 Q1013"), reference=NOW)
    assert found.cloud_fraction == fraction


@pytest.mark.parametrize("trend", ["TEMPO", "INTER", "PROB30", "FM1600"])
def test_a_cloud_of_the_trend_is_not_in_the_sky_now(trend):
    found = read_metar_report(report("26009KT", rest=f"9999 FEW020 {trend} BKN010"), reference=NOW)
    assert found.cloud_fraction == pytest.approx(1.5 / 8)


@given(
    direction=st.integers(1, 36),
    speed=st.integers(1, 99),
    gust=st.none() | st.integers(0, 40),
    unit=st.sampled_from(["KT", "MPS"]),
)
def test_on_well_formed_groups_the_library_says_the_same(direction, speed, gust, unit):
    gusting = "" if gust is None else f"G{speed + gust:02d}"
    text = report(f"{direction * 10:03d}{speed:02d}{gusting}{unit}")
    ours = read_metar_report(text, reference=NOW).wind
    theirs = Metar.Metar(text, month=11, year=2026)

    assert ours.wind_from_deg == theirs.wind_dir.value()
    assert ours.speed_mps == pytest.approx(theirs.wind_speed.value("MPS"), rel=1e-5)
    if gust is not None:
        assert ours.gust_mps == pytest.approx(theirs.wind_gust.value("MPS"), rel=1e-5)


BULLETIN = """\x01
123
SAXX31 KABC 141500
METAR
KABC 141453Z 26009KT 10SM FEW020
     08/M01 A3001=
KDEF 141455Z 90010KT 10SM CLR 08/M01 A3001=
METAR KGHI 141450Z AUTO VRB03KT 10SM
BKN040 07/00 A3002 RMK AO2= KJKL 141451Z 00000KT 10SM CLR 05/01 A3003=
SPECI
KMNO O81354Z 18005KT=
KPQR 141458Z 18013G21KT 9999 OVC010 09/08 Q1009=
\x03
"""


def test_a_bulletin_is_taken_apart_and_accounted_for():
    outcome = read_metar_bulletin(BULLETIN, reference=NOW)

    assert [hour.source for hour in outcome.hours] == [
        "METAR KABC",
        "METAR KGHI",
        "METAR KJKL",
        "SPECI KPQR",
    ]
    assert [hour.temperature_c for hour in outcome.hours] == [8, 7, 5, 9]
    assert outcome.places_by_code == {"malformed_wind": (7,), "malformed_time": (11,)}
    assert outcome.read == 6


def test_a_bulletin_with_other_line_ends_or_as_bytes_reads_the_same():
    plain = read_metar_bulletin(BULLETIN, reference=NOW)
    wired = BULLETIN.replace("\n", "\r\r\n").encode()
    assert read_metar_bulletin(wired, reference=NOW) == plain
    assert read_metar_bulletin(b"\xef\xbb\xbf" + wired, reference=NOW) == plain


def test_without_end_marks_each_line_is_a_report_and_an_indented_one_continues():
    text = "\n".join(
        [
            "KABC 141453Z 26009KT 10SM",
            "  FEW020 08/M01 A3001",
            "",
            "KDEF 141455Z 18005KT 10SM CLR 04/M01 A3001",
            "what is this line",
        ]
    )
    outcome = read_metar_bulletin(text, reference=NOW)
    assert [hour.temperature_c for hour in outcome.hours] == [8, 4]
    assert outcome.places_by_code == {"not_a_report": (5,)}


def test_a_correction_replaces_what_it_corrects_whichever_comes_first():
    wrong = "METAR KABC 141453Z 26009KT 10SM="
    right = "METAR KABC 141453Z COR 20009KT 10SM="
    for text, place in ((f"{wrong}\n{right}", 1), (f"{right}\n{wrong}", 2)):
        outcome = read_metar_bulletin(text, reference=NOW)
        assert [hour.wind_from_deg for hour in outcome.hours] == [200]
        assert outcome.places_by_code == {"replaced": (place,)}


def test_an_impossible_speed_is_skipped_by_its_line():
    text = report("26009KT") + "=\n" + report("280180KT", station="KDEF") + "="
    outcome = read_metar_bulletin(text, reference=NOW)
    assert outcome.places_by_code == {"impossible_speed": (2,)}
    lenient = PlausibleWeather(max_speed_mps=100)
    assert len(read_metar_bulletin(text, reference=NOW, bounds=lenient).hours) == 2


def test_an_empty_bulletin_reads_nothing():
    assert read_metar_bulletin(" \n\n", reference=NOW).reconciliation == (
        "0 read = 0 taken + 0 skipped"
    )


def test_a_bulletin_over_the_size_limit_is_refused():
    with pytest.raises(ValueError, match="longer"):
        read_metar_bulletin("x" * 5_000_001, reference=NOW)


def letters(text):
    return "".join(text.replace("=", " ").split())


# Without digits and control characters there are no headings and no framing to leave out.
@given(
    st.text(
        alphabet=st.characters(exclude_categories=["Nd", "Cc", "Cf"], include_characters="\n"),
        max_size=300,
    )
)
def test_whatever_the_text_every_letter_of_it_belongs_to_a_report(text):
    found = list(split_bulletin(text))
    assert letters("".join(report.text for report in found)) == letters(text)
    assert read_metar_bulletin(text, reference=NOW).read == len(found)


GROUPS = (
    *("METAR", "KABC", "141453Z", "26009KT", "VRB03KT", "CAVOK", "R20/1900D", "TEMPO"),
    *("RMK", "P0010", "FEW020", "M01/", "//", "=", "\n", "\n ", "PK WND 29028/1817", "COR"),
)


@given(st.lists(st.sampled_from(GROUPS), max_size=14))
def test_no_shuffled_report_breaks_the_reader(groups):
    outcome = read_metar_bulletin(" ".join(groups), reference=NOW)
    assert outcome.read == len(list(split_bulletin(" ".join(groups))))
