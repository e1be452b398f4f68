"""The settings of a layer as a change leaves them; its faults by place, as services tell them."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError

from properties.land import settings


def with_settings(
    fields: Mapping[str, Any], *, stored: Mapping[str, Mapping[str, Any]]
) -> dict[str, Any]:
    """``fields`` with the change of ``settings``, where there is one, laid over ``stored``.

    Raises ``ValidationError`` with every fault, by the place of each.
    """
    if "settings" not in fields:
        return dict(fields)
    found = settings.faults(fields["settings"], stored=stored)
    if found:
        raise ValidationError(
            {f"settings/{fault.pointer}".rstrip("/"): fault.detail for fault in found}
        )
    return {**fields, "settings": settings.laid_over(stored, fields["settings"])}
