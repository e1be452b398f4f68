"""A template with its pictures, for a screen or for paper."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from django.template.loader import render_to_string

from coop.printing.palette import ALL

if TYPE_CHECKING:
    # Drawing loads slowly, and pages without pictures do without it.
    from coop.reports.drawing import Picture


def rendered(
    template: str, context: Mapping[str, Any], pictures: "Sequence[Picture]", *, paper: str = ""
) -> str:
    """The page; with ``paper`` (Letter or A4) its pictures are images and its colours fixed."""
    shown = {
        picture.name: {
            "name": picture.name,
            "svg": "" if paper else picture.themed,
            "image": picture.image if paper else "",
            "alt": picture.alt,
            "caption": picture.caption,
        }
        for picture in pictures
    }
    palette = [{"name": colour.name, "light": colour.light, "dark": colour.dark} for colour in ALL]
    # Only paper made here knows its size; a reader's own printer knows better for the other.
    return render_to_string(
        f"reports/{template}",
        {**context, "pictures": shown, "palette": palette, "paper": paper or None},
    )
