"""The main reason of a fit in a sentence that a member can act on."""

from collections.abc import Sequence
from datetime import datetime

from properties.wind.answer import Cause, Reason, StandFit, Verdict

_HOW = {
    Cause.PLUME: "scent is carried to {feature}",
    Cause.TRAIL: "the trail walked crosses {feature}",
    Cause.SIGHT: "the walk is seen or heard from {feature}",
}
_WHEN = {"approach": "on the way in", "hunt": "during the hunt", "exit": "on the way out"}

BEYOND_FORECAST = "The forecast does not reach this session."


def main_reason(
    fit: StandFit, local_hours: Sequence[datetime], *, forecast_until: datetime | None = None
) -> str:
    """Why a stand is fit, marginal or unfit: the feature, the hour and the chance.

    ``local_hours`` are the local starts of the session's hours, ``forecast_until`` the start of
    the last hour that the forecast has. Says what is not known where that decides, and never
    that anything is safe or lawful.
    """
    if fit.verdict is Verdict.UNKNOWN:
        is_beyond = forecast_until is not None and min(local_hours) > forecast_until
        return BEYOND_FORECAST if is_beyond and len(fit.unknown) == 1 else " ".join(fit.unknown)
    if not fit.reasons:
        return "No mapped place that holds deer lies where scent is likely to go."
    return reason_sentence(fit.reasons[0], local_hours)


def reason_sentence(reason: Reason, local_hours: Sequence[datetime]) -> str:
    """One reason: what reaches which feature, in which part and hour, with which chance."""
    how = _HOW[reason.cause].format(feature=reason.feature)
    hour = local_hours[reason.hour]
    chance = f"{100 * reason.worst_place:.0f} % at its worst place if deer are there"
    return f"{how[0].upper()}{how[1:]} {_WHEN[reason.part]}, worst about {hour:%H:%M} ({chance})."
