"""What is shown to somebody who goes to a stand: cautions, never a promise.

The facts follow public hunter education: full-body harness, continuous attachment, haul
line, inspection, telling somebody (a state's list as broadcast in Virginia by WDBJ7; the
study guide of Iowa's hunter education).
Three points of contact and the yearly look at straps are common practice, no source.
"""

from dataclasses import dataclass
from datetime import date

from properties.regulations.words import Orange


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One thing to mind; ``code`` is stable."""

    code: str
    sentence: str


def cautions_for(
    *,
    is_elevated: bool,
    inspected_on: date | None,
    inspection_interval_days: int,
    on: date,
    orange: Orange,
    regulations_url: str,
    emergency_contact: bool,
) -> tuple[Caution, ...]:
    """Cautions for one stand on one day, the ones that save lives first.

    ``orange`` is what the property's settings ask for that day.
    ``emergency_contact`` says whether somebody is on record who can be called.
    """
    return (
        *(_ELEVATED if is_elevated else ()),
        _inspection(inspected_on, inspection_interval_days, on),
        orange_caution(orange, regulations_url=regulations_url),
        *_ALWAYS,
        *(() if emergency_contact else (_NOBODY_TO_CALL,)),
        _NO_PROMISE,
    )


_ELEVATED = (
    Caution(
        code="harness",
        sentence=(
            "Wear a full-body harness from the moment you leave the ground until you are back "
            "on it, and stay attached while you climb. A belt or chest strap alone is no "
            "harness. Follow its maker's instructions and replace it at the maker's date."
        ),
    ),
    Caution(
        code="haul_line",
        sentence=(
            "Climb with empty hands: pull the unloaded weapon and your pack up on a haul line, "
            "and let them down the same way."
        ),
    ),
    Caution(
        code="climbing",
        sentence="Keep three points of contact; do not climb on ice, ill, or after medicine "
        "that makes you drowsy.",
    ),
    Caution(
        code="look_first",
        sentence="Look at stand, straps and tree before you climb; if anything is wrong, stay "
        "down and report it.",
    ),
)
_ALWAYS = (
    Caution(
        code="target",
        sentence="Be sure of your target and of what lies beyond it. A bearing or distance "
        "shown here clears no shot.",
    ),
    Caution(
        code="tell_somebody",
        sentence="Tell somebody where you sit and when you will be back; carry a phone or "
        "whistle, and check out when you are down and away.",
    ),
)
_NOBODY_TO_CALL = Caution(
    code="nobody_to_call",
    sentence="No emergency contact is on record for you. Add one before you go.",
)
_NO_PROMISE = Caution(
    code="no_promise",
    sentence="This list makes no sit safe and no hunt lawful. Local law, the makers' "
    "instructions and licensed people go before anything written here.",
)


def _inspection(inspected_on: date | None, interval_days: int, on: date) -> Caution:
    if inspected_on is None:
        sentence = "No inspection of this stand is recorded."
    else:
        age_days = (on - inspected_on).days
        sentence = (
            f"Last inspected on {inspected_on:%d %b %Y}, {age_days} days before this sit; this "
            f"property's settings ask for an inspection every {interval_days} days. Much can "
            "happen to a stand since."
        )
    return Caution(code="inspection", sentence=sentence)


def orange_caution(orange: Orange, *, regulations_url: str) -> Caution:
    """What the property's settings ask for; the state's rules go before them."""
    page = orange.source_url or regulations_url
    where = page or "your state's own page (your manager has entered no link to it)"
    return Caution(
        code="orange",
        sentence=f"{orange.sentence} Orange clothing is a matter of your state's rules, and they "
        f"change with the season: read {where}.",
    )
