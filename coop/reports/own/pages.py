"""One's own season as a page; nothing of it is stored."""

from coop.reports import sentences as month_sentences
from coop.reports import wording
from coop.reports.own import sentences
from coop.reports.own.figures import OwnSeason
from coop.reports.rendering import rendered
from coop.reports.season import sentences as season_sentences
from coop.reports.settings_words import settings_groups


def write_own_page(figures: OwnSeason) -> str:
    """The page; the same figures give the same text, byte for byte."""
    zone = (figures.time_zones or ("UTC",))[0]
    context = {
        "title": sentences.title(figures),
        "person": figures.person,
        "cooperative_name": figures.cooperative_name,
        "season": season_sentences.season_name(figures.season_year),
        "summary": sentences.summary(figures),
        "seen": season_sentences.seen(figures.together),
        "sits": [
            {
                "on": wording.day_long(sit.on),
                "span": wording.span(sit.span),
                "where": f"{sit.stand}, {sit.property}",
                "state": sentences.state(sit.state),
                "hours": "–" if sit.hours is None else f"{sit.hours:.1f}",
                "seen": sentences.seen(sit),
                "guests": wording.listed(sit.guests),
            }
            for sit in figures.sits
        ],
        "deer": [
            {
                "on": wording.day_long(one.on),
                "kind": wording.harvest_class(one.harvest_class),
                "where": one.property,
            }
            for one in figures.deer
        ],
        "properties": figures.properties,
        "period": sentences.period(figures),
        "cut_off": wording.instant(figures.cut_off_at, zone),
        "cut_off_zone": zone,
        "sources": sentences.sources(figures),
        "rules": sentences.rules(figures),
        "settings_groups": settings_groups(figures.settings_used),
        "disclaimer": month_sentences.says_nothing_about(),
    }
    return rendered("own_season.html", context, ())
