"""What the ground says of a place for a scrape: boundary, sanctuary, hazards, routes, plots."""

from collections.abc import Iterator

from scrapes.siting.figures import SiteFigures
from scrapes.siting.places import Around
from scrapes.siting.reason import Reason, told
from scrapes.siting.settings import SitingSettings


def mapped_reasons(
    figures: SiteFigures, place: int, around: Around, settings: SitingSettings
) -> Iterator[Reason]:
    """What the property's map says of a place: boundary, sanctuary, hazard, food plot.

    ``place`` is its row in ``figures``; needs ``around.ground``.
    """
    assert around.ground is not None
    yield _boundary(figures, place, settings)
    away, index = float(figures.sanctuary.away_m[place]), int(figures.sanctuary.index[place])
    if index < 0:
        yield told("sanctuary", "sanctuaries", "No sanctuary is mapped here.")
    else:
        name = around.ground.sanctuaries[index].name
        yield Reason(
            code="sanctuary",
            subject=name,
            holds=away > 0,
            sentence=f"The place lies in {name}, where nobody goes."
            if away == 0
            else f"{name} is {away:.0f} m away; nobody goes there.",
            facts={"distance_m": away},
        )
    away, index = float(figures.hazard.away_m[place]), int(figures.hazard.index[place])
    if index < 0:
        nothing = "No hazard is mapped here; that does not mean there is none."
        yield told("hazard", "hazards", nothing)
    else:
        name = around.ground.hazards[index].name
        yield Reason(
            code="hazard",
            subject=name,
            holds=away >= settings.hazard_distance_m,
            sentence=f"{name} is {away:.0f} m away; the settings ask for "
            f"{settings.hazard_distance_m:.0f} m. Setbacks of law and lease come first.",
            facts={"distance_m": away, "limit_m": settings.hazard_distance_m},
        )
    away, index = float(figures.food_plot.away_m[place]), int(figures.food_plot.index[place])
    if index < 0:
        yield told("food_plot", "food plots", "No food plot is mapped here.")
    else:
        # Told, not judged: a plot nearby is a route's end, not a condition.
        name = around.ground.food_plots[index].name
        sentence = f"{name} is {away:.0f} m away."
        yield told("food_plot", name, sentence, distance_m=away)


def _boundary(figures: SiteFigures, place: int, settings: SitingSettings) -> Reason:
    away, inside = float(figures.boundary_m[place]), bool(figures.inside[place])
    side = "inside" if inside else "outside"
    return Reason(
        code="boundary",
        subject="boundary",
        holds=inside and away >= settings.boundary_distance_m,
        sentence=f"The place lies {away:.0f} m {side} the mapped boundary; at least "
        f"{settings.boundary_distance_m:.0f} m inside is asked for.",
        facts={"inside": inside, "distance_m": away, "limit_m": settings.boundary_distance_m},
    )


def route_reason(
    figures: SiteFigures, place: int, around: Around, settings: SitingSettings
) -> Reason:
    """Whether a route that deer use passes near enough; unknown where none is mapped."""
    away, index = float(figures.route.away_m[place]), int(figures.route.index[place])
    if index < 0:
        return told("route_near", "routes", "No route that deer use is mapped here.")
    name = around.routes[index].name
    return Reason(
        code="route_near",
        subject=name,
        holds=away <= settings.route_distance_m,
        sentence=f"{name} passes {away:.0f} m away; a scrape belongs within "
        f"{settings.route_distance_m:.0f} m of a route deer already use.",
        facts={"distance_m": away, "limit_m": settings.route_distance_m},
    )


def scrape_reasons(figures: SiteFigures, place: int, around: Around) -> Iterator[Reason]:
    """Nothing, or that another scrape is close by."""
    away, index = float(figures.scrape.away_m[place]), int(figures.scrape.index[place])
    if index >= 0:
        name = around.scrapes[index].name
        sentence = f"{name} is {away:.0f} m away: deer may take scrapes close by for one signpost."
        yield told("scrape_near", name, sentence, distance_m=away)
