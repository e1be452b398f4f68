"""Expected uses of each stand under one wind."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from scheduling.rotation.problem import EXCESS_STEP_PER_MILLE, PlanStand
from scheduling.rules import words
from scheduling.rules.uses import FULL_PER_MILLE

from .tally import Tally, Violation


@dataclass(frozen=True, kw_only=True)
class Excess:
    """Uses of a stand that the plan counts beyond its soft same-wind cap, in per mille.

    ``price`` is what they cost in quality: each begun half of a use at the problem's price.
    """

    stand_id: str
    per_mille: int
    price: int
    sentence: str


def worn(tally: Tally, stand: PlanStand) -> Iterator[Violation]:
    length = tally.problem.same_wind_window_days
    own = tally.sessions_of(stand)
    if tally.problem.same_wind_cap is None or not own:
        return
    cap = tally.problem.same_wind_cap + stand.same_wind_excess
    chances = {
        session: tally.problem.outlook_at[stand.id, session].sector_per_mille
        for session in own
        if (stand.id, session) in tally.problem.outlook_at
    }
    past = [(use.session.local_date, use.sector_per_mille) for use in tally.outside(stand)]
    for sector in range(tally.problem.sectors):
        for step in range(length + (own[-1].local_date - own[0].local_date).days):
            first = own[0].local_date + timedelta(days=step - length + 1)
            last = first + timedelta(days=length - 1)
            within = [
                session
                for session, chance in chances.items()
                if first <= session.local_date <= last and chance[sector]
            ]
            counted = sum(chances[session][sector] for session in within)
            counted += sum(chance[sector] for day, chance in past if first <= day <= last)
            if within and counted > cap * FULL_PER_MILLE:
                seats = [seat for session in within for seat in tally.behind(stand.id, session)]
                wind = words.sector_words(sector, tally.problem.sectors)
                yield tally.found(
                    "same_wind",
                    f"{stand.shown_name} counts {counted / FULL_PER_MILLE:g} uses on a {wind} "
                    f"wind in {length} days; the cap is {cap}.",
                    seats,
                )
                break


def excess_of(tally: Tally, stand: PlanStand) -> Excess | None:
    """Over every wind and window that ends on a day of use, or goes on past the last."""
    cap, length = tally.problem.same_wind_cap, tally.problem.same_wind_window_days
    if cap is None:
        return None
    most, wind, past = 0, 0, tally.outside(stand)
    planned = [
        (session.local_date.toordinal(), tally.problem.outlook_at[stand.id, session])
        for session in tally.sessions_of(stand)
        if (stand.id, session) in tally.problem.outlook_at
    ]
    days = {day + shift for day, _ in planned for shift in range(length)}
    for sector in range(tally.problem.sectors):
        for last in days:
            within = range(last - length + 1, last + 1)
            used = sum(o.sector_per_mille[sector] for day, o in planned if day in within)
            before = sum(
                use.sector_per_mille[sector]
                for use in past
                if use.session.local_date.toordinal() in within
            )
            beyond = used - max(0, cap * FULL_PER_MILLE - before)
            if beyond > most:
                most, wind = beyond, sector
    if not most:
        return None
    steps = -(-most // EXCESS_STEP_PER_MILLE)
    return Excess(
        stand_id=stand.id,
        per_mille=most,
        price=steps * tally.problem.excess_price,
        sentence=f"{stand.shown_name} exceeds its soft cap of {cap} uses in {length} days by "
        f"{most / FULL_PER_MILLE:g} on {words.sector_words(wind, tally.problem.sectors)} wind.",
    )
