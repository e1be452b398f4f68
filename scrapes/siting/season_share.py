"""How often a place could be hunted: sessions in which approach, stand and scrape all fit.

Sessions are those of past seasons on the wind that was observed. The science is the fit's own:
a proposed scrape is one more thing that deer pass, without any presence, so that it changes no
fit and its own chance can be read beside it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from properties.wind.answer import StandFit, Verdict
from properties.wind.fit import SessionAir, stand_fits
from properties.wind.places import Behaviour, Receptor, scrape_points
from properties.wind.places import StandPlace as StandInWind
from properties.wind.settings import PARTS, WindSettings
from scrapes.siting.figures import Ints, SiteFigures, downwind
from scrapes.siting.places import Around, Floats
from scrapes.siting.settings import SitingSettings

PROPOSED = "proposed_scrape"
_APPROACH, _HUNT = PARTS.index("approach"), PARTS.index("hunt")
_HUNTABLE = (Verdict.FIT, Verdict.MARGINAL)


@dataclass(frozen=True, kw_only=True, eq=False)
class Sitter:
    """A stand as the fit sees it, with the places that hold deer around it and its settings."""

    stand: StandInWind
    receptors: Sequence[Receptor]
    settings: WindSettings


@dataclass(frozen=True, kw_only=True, eq=False)
class SessionShares:
    """Counts (places, stands) of sessions; -1 for a stand whose shot does not reach the place.

    ``known`` sessions were observed throughout. ``all_fit`` of them fit in approach, stand and
    scrape; in ``downwind_too`` of those the downwind side lay inside the shot for half of the
    hunted time or more.
    """

    known: Ints
    approach: Ints
    stand: Ints
    scrape: Ints
    all_fit: Ints
    downwind_too: Ints

    def share(self) -> Floats:
        """(places, stands); NaN where no session tells."""
        told = self.known > 0
        return np.where(told, self.all_fit / np.where(told, self.known, 1), np.nan)


def downwind_held(figures: SiteFigures, shares: SessionShares) -> Floats:
    """Share in which the downwind side lay within the shot: of the sessions in which all fitted,
    since only those are sat, else of all recorded hours; (places, stands)."""
    sat = shares.all_fit > 0
    of_sat = shares.downwind_too / np.where(sat, shares.all_fit, 1)
    return np.where(sat, of_sat, figures.downwind_share)


def no_shares(figures: SiteFigures) -> SessionShares:
    """Of places whose wind nobody recorded."""
    nothing = np.where(figures.reaches, 0, -1)
    return SessionShares(**dict.fromkeys(SessionShares.__dataclass_fields__, nothing))


def shares_of_stand(
    figures: SiteFigures,
    stand: int,
    *,
    places_in_wind: Floats,
    around: Around,
    sitter: Sitter,
    sessions: Sequence[SessionAir],
    settings: SitingSettings,
) -> Mapping[str, Ints]:
    """The counts of one stand by name, each (places,).

    ``places_in_wind`` (places, 2) are the places in the frame of ``sitter``. A property on
    which nothing that holds deer is mapped has no known session.
    """
    counts = {
        name: np.where(figures.reaches[:, stand], 0, -1)
        for name in SessionShares.__dataclass_fields__
    }
    reached = np.flatnonzero(figures.reaches[:, stand])
    if not len(reached) or not sessions or not sitter.receptors:
        return counts
    proposed = [_receptor(number, places_in_wind[number], sitter) for number in reached.tolist()]
    ((*fits,),) = stand_fits(
        stands=[sitter.stand],
        receptors=[*sitter.receptors, *proposed],
        sessions=sessions,
        settings=sitter.settings,
    )
    known = np.array([not fit.unknown for fit in fits])
    approach = known & [fit.part_verdict("approach") in _HUNTABLE for fit in fits]
    sat = known & [fit.part_verdict("hunt") in _HUNTABLE and not fit.closed_by_gust for fit in fits]
    clean = known & _scrape_fits(fits, reached, sitter.settings)
    all_fit = approach & sat & clean
    inside = _mostly_inside(figures, stand, reached, around, sessions, settings)
    for name, which in {
        "known": np.broadcast_to(known, clean.shape),
        "approach": np.broadcast_to(approach, clean.shape),
        "stand": np.broadcast_to(sat, clean.shape),
        "scrape": clean,
        "all_fit": all_fit,
        "downwind_too": all_fit & inside,
    }.items():
        counts[name][reached] = which.sum(axis=1)
    return counts


def _receptor(number: int, place: Floats, sitter: Sitter) -> Receptor:
    wind = sitter.settings
    points, lengths = scrape_points(
        place, loop_m=wind.scrape_loop_m, stretch_m=wind.passing_stretch_m
    )
    return Receptor(
        feature_id=f"{PROPOSED}-{number}",
        name=PROPOSED,
        kind=PROPOSED,
        behaviour=Behaviour.PASSING,
        points=points,
        weights=lengths,
        loop_centre=place,
    )


def _scrape_fits(
    fits: Sequence[StandFit], reached: Ints, settings: WindSettings
) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Whether deer at each proposed scrape are spared in approach and hunt; (reached, sessions)."""
    column = {feature.feature_id: index for index, feature in enumerate(fits[0].features)}
    columns = [column[f"{PROPOSED}-{number}"] for number in reached]
    worst = np.stack([fit.worst_places[[_APPROACH, _HUNT]][:, columns] for fit in fits])
    return np.asarray((worst.max(axis=1) <= settings.worst_place_cap).T)


def _mostly_inside(
    figures: SiteFigures,
    stand: int,
    reached: Ints,
    around: Around,
    sessions: Sequence[SessionAir],
    settings: SitingSettings,
) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Whether the downwind side lay inside the shot for half of the hunted time; (reached,
    sessions). Calm and variable hours have no downwind side and count for neither."""
    held = np.zeros((len(reached), len(sessions)), bool)
    for number, session in enumerate(sessions):
        air = session.air
        blew = air.known & (air.steps > 0) & (air.speed_mps > 0) & np.isfinite(air.wind_from_deg)
        if not blew.any():
            continue
        _away, inside = downwind(
            figures.places[reached], around.stands[stand], air.wind_from_deg[blew], settings
        )
        steps = air.steps[blew]
        held[:, number] = inside @ steps >= steps.sum() / 2
    return held
