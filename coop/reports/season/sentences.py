"""A season's facts as sentences. They say what was counted, and claim no cause."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop.reports import wording
from coop.reports.season.figures import ClassSeason, PropertySeason, SeasonFigures, Sitting


def season_name(season_year: int) -> str:
    return f"{season_year}–{(season_year + 1) % 100:02d}"


def title(figures: SeasonFigures) -> str:
    return _("%(cooperative)s · season %(season)s") % {
        "cooperative": figures.cooperative_name,
        "season": season_name(figures.season_year),
    }


def period(figures: SeasonFigures) -> str:
    zones = wording.listed(figures.time_zones) or "UTC"
    return _("%(first)s to %(last)s, by each property's own clocks (%(zones)s)") % {
        "first": wording.day_long(figures.first_on),
        "last": wording.day_long(figures.last_on),
        "zones": zones,
    }


def summary(figures: SeasonFigures) -> list[str]:
    """The season in three sentences: sits, deer against the plan, how sits were shared."""
    return [_sits(figures), _deer(figures), *_shared(figures)]


def _sits(figures: SeasonFigures) -> str:
    sitting = figures.together
    if not sitting.sits:
        return _("No sit is on record this season.")
    sits = ngettext("%(n)d sit", "%(n)d sits", sitting.sits) % {"n": sitting.sits}
    people = ngettext("%(n)d person", "%(n)d people", sitting.people) % {"n": sitting.people}
    lands = len(figures.properties)
    return ngettext(
        "%(people)s sat for %(sits)s on %(lands)d property.",
        "%(people)s sat for %(sits)s on %(lands)d properties.",
        lands,
    ) % {"people": people, "sits": sits, "lands": lands}


def _deer(figures: SeasonFigures) -> str:
    classes = [one for land in figures.properties for one in land.classes]
    taken = sum(one.taken for one in classes)
    if not taken:
        told = _("No deer is recorded as taken")
    else:
        told = ngettext("%(n)d deer was taken", "%(n)d deer were taken", taken) % {"n": taken}
    planned = [one.planned for one in classes if one.planned is not None]
    if not planned:
        return _("%(told)s; no plan is entered.") % {"told": told}
    return _("%(told)s of %(planned)d planned.") % {"told": told, "planned": sum(planned)}


def _shared(figures: SeasonFigures) -> list[str]:
    sharing = figures.sharing
    if not sharing.members:
        return []
    without = sharing.without_a_sit
    told = ngettext(
        "%(n)d member asked for sits or had one.",
        "%(n)d members asked for sits or had one.",
        sharing.members,
    ) % {"n": sharing.members}
    if without:
        told += " " + ngettext("%(n)d of them had none.", "%(n)d of them had none.", without) % {
            "n": without
        }
    return [told]


def over_plan(figures: SeasonFigures) -> list[str]:
    """Said in words wherever more deer were taken than planned, or without a plan."""
    return [
        f"{land.name}: {class_taken(one)}."
        for land in figures.properties
        for one in land.classes
        if one.taken > (one.planned or 0)
    ]


def class_taken(one: ClassSeason) -> str:
    """``Antlerless: 7 of 10``; what is over the plan, or has none, is said."""
    kind = wording.harvest_class(one.harvest_class)
    if one.planned is None:
        return _("%(kind)s: %(taken)d, no plan is entered") % {"kind": kind, "taken": one.taken}
    told = _("%(kind)s: %(taken)d of %(planned)d") % {
        "kind": kind,
        "taken": one.taken,
        "planned": one.planned,
    }
    over = one.taken - one.planned
    return (
        _("%(told)s, %(over)d over the plan") % {"told": told, "over": over} if over > 0 else told
    )


def seen(sitting: Sitting) -> str:
    if not sitting.reported:
        return _("No hunter's report came in.")
    told = ngettext(
        "%(n)d hunter's report tells of %(seen)d deer seen.",
        "%(n)d hunters' reports tell of %(seen)d deer seen.",
        sitting.reported,
    ) % {"n": sitting.reported, "seen": sitting.deer_seen}
    if sitting.deer_per_hour is not None:
        told += " " + _("That is %(rate)s an hour sat.") % {"rate": f"{sitting.deer_per_hour:.2f}"}
    if sitting.bucks_per_doe is not None:
        told += " " + _("Bucks a doe, where the sex was told: %(rate)s.") % {
            "rate": f"{sitting.bucks_per_doe:.2f}"
        }
    return told + " " + _("The same deer may be seen twice.")


def sharing(figures: SeasonFigures) -> list[str]:
    """How sits were shared; members are counted and not named."""
    shared = figures.sharing
    if not shared.members:
        return [_("Nobody asked for a sit, and no member had one.")]
    told = [
        _("Members had %(got)d sits, booked or sat. Wishes were entered for %(asked)d.")
        % {"asked": shared.asked, "got": shared.got},
        _("Sits a member had: fewest %(fewest)d, middle %(middle)s, most %(most)d.")
        % {"fewest": shared.fewest, "middle": f"{shared.middle:g}", "most": shared.most},
    ]
    if shared.gini_of_sits is not None:
        told.append(
            _("Gini coefficient of sits by entitlement: %(gini)s (0: all alike).")
            % {"gini": f"{shared.gini_of_sits:.2f}"}
        )
    return told


def watched_line(land: PropertySeason) -> str:
    watched = land.watched
    if watched.camera_nights <= 0:
        return _("%(name)s: no scrape was watched by a working camera.") % {"name": land.name}
    return ngettext(
        "%(name)s: %(visits)d visit in %(nights)s camera-nights.",
        "%(name)s: %(visits)d visits in %(nights)s camera-nights.",
        watched.visits,
    ) % {"name": land.name, "visits": watched.visits, "nights": f"{watched.camera_nights:.0f}"}


def rules(figures: SeasonFigures) -> str:
    return wording.rule_words(figures.rules)


def sources(figures: SeasonFigures) -> str:
    counts = figures.sources
    return _(
        "Made from what the cooperative's members entered: sits %(sits)d, hunters' reports "
        "%(sit_reports)d, deer taken %(deer)d, records of work %(work)d, managers' notes "
        "%(notes)d."
    ) % {
        "sits": counts["sits"],
        "sit_reports": counts["sit_reports"],
        "deer": counts["deer_taken"],
        "work": counts["work_records"],
        "notes": counts["manager_notes"],
    }
