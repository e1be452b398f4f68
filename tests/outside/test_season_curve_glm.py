"""The season's curve against a reference library's Poisson regression.

statsmodels' GLM (Poisson, log link, effort as offset, a level for each row) is given the fitted
curve inside the offset and the curve's slopes as extra columns. Where our fit is the greatest
likelihood, the extra columns have nothing left to explain; their covariance is the one that we
state; the rows' levels are our rates; and the posterior's is that covariance held against the
prior.
"""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm

from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_fit import fit_season, information
from scrapes.visits.season_curve_prior import FIGURES, CurvePrior
from scrapes.visits.season_curve_settings import SeasonFitSettings
from scrapes.visits.settings import SeasonSettings
from tests.scrapes.visits.season_worlds import DAYS, world

PRACTICE = SeasonSettings()
TRUTH = replace(PRACTICE, lead_days=6.0, climb_days=22.0, off_season_level=0.08)
# So little conviction that the greatest posterior is the greatest likelihood.
LOOSE = SeasonFitSettings(day_spread=60.0, width_spread=5.0, level_spread=10.0)


@pytest.fixture(scope="module")
def found():
    counts = world(
        np.random.default_rng(21), TRUTH, rates=[3.0, 2.0, 4.0, 1.5, 6.0, 2.5], spread=1.3
    )
    return fit_season(counts, prior=PRACTICE, assumed_dispersion=1.0, settings=LOOSE)


@pytest.fixture(scope="module")
def slopes(found):
    return CurvePrior(PRACTICE, LOOSE).slopes(found.place, DAYS)


@pytest.fixture(scope="module")
def regression(found, slopes):
    counts = found.counts
    watched = counts.camera_nights.ravel() > 0
    use = relative_use(DAYS, settings=found.settings)
    levels = np.repeat(np.eye(len(counts.visits)), len(DAYS), axis=0)
    columns = np.column_stack([levels, np.tile(slopes, (len(counts.visits), 1))])
    offset = np.log(np.where(counts.camera_nights > 0, counts.camera_nights, 1.0) * use).ravel()
    model = sm.GLM(
        counts.visits.ravel()[watched],
        columns[watched],
        family=sm.families.Poisson(),
        offset=offset[watched],
    )
    return model.fit(scale=1.0)


def test_the_slopes_have_nothing_left_to_explain(found, regression):
    """In standard errors: the loose prior pulls a little, hence not 0."""
    rows = len(found.counts.visits)
    assert np.abs(regression.tvalues[rows:]).max() < 0.15


def test_the_rows_levels_are_the_rates(found, regression):
    rows = len(found.counts.visits)
    assert np.exp(regression.params[:rows]) == pytest.approx(found.rates, rel=0.02)


def test_the_information_is_the_inverse_of_the_regressions_covariance(found, slopes, regression):
    rows = len(found.counts.visits)
    use = relative_use(DAYS, settings=found.settings)
    ours = np.linalg.inv(information(found.counts, use, slopes))
    theirs = np.asarray(regression.cov_params())[rows:, rows:]
    assert np.sqrt(np.diag(ours)) == pytest.approx(np.sqrt(np.diag(theirs)), rel=0.02)
    assert ours == pytest.approx(theirs, rel=0.1, abs=0.02 * np.diag(theirs).max())


def test_the_stated_covariance_is_the_regressions_held_against_the_prior(found, regression):
    rows = len(found.counts.visits)
    theirs = np.asarray(regression.cov_params())[rows:, rows:] * found.dispersion
    held = np.linalg.inv(np.linalg.inv(theirs) + np.eye(len(FIGURES)))
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(np.sqrt(np.diag(held)), rel=0.02)
