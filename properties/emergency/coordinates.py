"""Coordinates as they are read out over the telephone; WGS 84 in, text out.

Five decimals of a degree are 1.1 m of latitude, three decimals of a minute 1.9 m: finer than
a stand is known, and short enough to be read out.
"""

_MINUTES_IN_DEGREE = 60
_THOUSANDTHS = 1_000


def decimal_degrees(*, latitude: float, longitude: float) -> str:
    """``43.20312, -91.50127``: latitude first, north and east positive (ISO 6709's order)."""
    return f"{_signed(latitude)}, {_signed(longitude)}"


def degrees_minutes(*, latitude: float, longitude: float) -> str:
    """``43° 12.187′ N, 91° 30.076′ W``: whole degrees and decimal minutes, below 60 always."""
    return (
        f"{_with_minutes(latitude, width=2)} {'S' if latitude < 0 else 'N'}, "
        f"{_with_minutes(longitude, width=3)} {'W' if longitude < 0 else 'E'}"
    )


def _signed(degrees: float) -> str:
    rounded = round(degrees, 5) + 0.0  # adding zero turns -0 into 0
    return f"{rounded:.5f}"


def _with_minutes(degrees: float, *, width: int) -> str:
    # In whole thousandths of a minute, so that no rounding ever shows 60 minutes.
    whole = round(abs(degrees) * _MINUTES_IN_DEGREE * _THOUSANDTHS)
    full_degrees, rest = divmod(whole, _MINUTES_IN_DEGREE * _THOUSANDTHS)
    return f"{full_degrees:0{width}d}° {rest / _THOUSANDTHS:06.3f}′"
