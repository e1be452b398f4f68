"""The few colours of pages and pictures, by day and by night.

Data colours come from Okabe & Ito's set for every kind of colour vision (from memory), darkened
or lightened to stand 3:1 or more against their ground; nothing is told by colour alone.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Colour:
    """``name`` is the CSS variable; the two values are for light and dark grounds."""

    name: str
    light: str
    dark: str


PAPER = Colour(name="paper", light="#fdfcf8", dark="#171a18")
PANEL = Colour(name="panel", light="#f3f1e9", dark="#222724")
INK = Colour(name="ink", light="#1d211f", dark="#e9e7df")
MUTED = Colour(name="muted", light="#565c58", dark="#aab0ab")
RULE = Colour(name="rule", light="#cfccc1", dark="#434a46")
BLUE = Colour(name="blue", light="#0b62a0", dark="#62b1ea")
PALE = Colour(name="pale", light="#bcd5e8", dark="#2c4f6b")
ORANGE = Colour(name="orange", light="#b35900", dark="#f0a04b")
GREEN = Colour(name="green", light="#1b7a5a", dark="#4fc49b")
WATER = Colour(name="water", light="#9cc7e4", dark="#35607f")
STEP_1 = Colour(name="step-1", light="#c3d9ea", dark="#27455c")
STEP_2 = Colour(name="step-2", light="#8fb8d8", dark="#35678c")
STEP_3 = Colour(name="step-3", light="#5793c0", dark="#4a8ab8")
STEP_4 = Colour(name="step-4", light="#2a6fa6", dark="#73b2de")
STEP_5 = Colour(name="step-5", light="#0a3f6b", dark="#b5dbf5")

STEPS = (STEP_1, STEP_2, STEP_3, STEP_4, STEP_5)
ALL = (PAPER, PANEL, INK, MUTED, RULE, BLUE, PALE, ORANGE, GREEN, WATER, *STEPS)


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two colours ``#rrggbb`` after WCAG 2.2 (relative luminance)."""
    lighter, darker = sorted((_luminance(first), _luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    channels = (int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    red, green, blue = (
        channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
        for channel in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
