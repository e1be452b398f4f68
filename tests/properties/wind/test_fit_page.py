"""The page about fit shows figures of a real run: this is the run."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import coop.docs
from properties.sessions.kinds import SessionKind
from properties.wind.air import forecast_hours
from properties.wind.chain import chain_of
from properties.wind.dispersion import plume_sigmas, relative_concentration
from properties.wind.dose import alert_concentration, dose_response
from properties.wind.fit import stand_fit
from properties.wind.places import Behaviour, Receptor, StandPlace
from properties.wind.settings import WindSettings

SETTINGS = replace(WindSettings(), error_nodes=9)


@pytest.fixture(scope="module")
def page():
    return (Path(coop.docs.__file__).parent / "fit.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def told():
    blind = StandPlace(position=np.zeros(2))
    hours = forecast_hours(
        wind_from_deg=280.0,
        speed_mps=3.6,
        cloud_fraction=0.6,
        sun_elevation_deg=[12.0, 5.0, -2.0],
        sun_azimuth_deg=[230.0, 241.0, 251.0],
        sun_rising=False,
        lead_hours=[5.0, 6.0, 7.0],
        settings=SETTINGS,
    )
    bedding = Receptor(
        feature_id="bedding",
        name="bedding",
        kind="bedding",
        behaviour=Behaviour.STAYING,
        points=np.array([[200.0, 0.0]]),
        weights=np.ones(1),
    )
    fit = stand_fit(
        stand=blind,
        receptors=[bedding],
        air=hours,
        session_kind=SessionKind.EVENING,
        settings=SETTINGS,
    )
    return chain_of(fit, air=hours, place=blind)


def test_the_air_of_the_example_is_as_the_page_says(page, told):
    assert {hour["stability"] for hour in told["hours"]} == {"D"}
    first, _, last = told["hours"]
    assert f"**{first['speed_mps']:.4f} m/s**" in page
    assert f"**{first['wander_deg']:.3f}°**" in page
    assert f"**{last['error_deg']:.2f}°** in the last hour, {first['error_deg']:.2f}°" in page


def test_the_alert_concentration_of_the_page_is_the_models(page):
    across, up = plume_sigmas(3, 250.0)
    assert f"σy {across:.3f}, σz {up:.3f} m" in page
    assert f"**{alert_concentration(SETTINGS):.4e} s/m³**".replace("e-04", "e-4") in page


@pytest.mark.parametrize("off_deg", [-10, -5, 0, 5, 10])
def test_each_row_of_the_wandering_table_is_the_models(page, off_deg):
    x, y = 200 * np.cos(np.deg2rad(off_deg)), 200 * np.sin(np.deg2rad(off_deg))
    relative = relative_concentration(
        stability=3,
        speed_mps=2.5486,
        downwind_m=x,
        across_m=y,
        source_height_m=1.0,
        nose_height_m=1.0,
    )
    response = dose_response(relative, settings=SETTINGS)
    (row,) = [
        line for line in page.splitlines() if line.startswith(f"| {off_deg}°".replace("-", "−"))
    ]
    assert f"{float(relative):.3e} | {float(response):.4f}" in row


def test_the_table_of_draws_and_its_sum_are_the_models(page, told):
    draws = told["draws"]
    hunted = draws["sources"][0]["hunt"]
    for turn, weight, hunt in zip(draws["turn_deg"], draws["weight"], hunted, strict=True):
        written = f"| {turn:.1f}° | {weight:.6f} | {hunt:.4f} | {np.exp(-hunt):.4f} |"
        assert written.replace("-", "−") in page
    assert f"**fit {told['fit']:.3f}**" in page
    assert f"The chance at the bedding is {told['worst_place']:.3f}" in page
    assert f"**{told['verdict']}**" in page
