"""JSON out, fast; NaN cannot leave."""

from collections.abc import Mapping
from typing import Any

import orjson
from rest_framework.renderers import BaseRenderer


class FastJSONRenderer(BaseRenderer):
    """UTF-8 JSON. orjson writes NaN as null; services never let one come so far."""

    media_type = "application/json"
    format = "json"
    charset = None

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        if data is None:
            return b""
        return orjson.dumps(data, default=str, option=orjson.OPT_NON_STR_KEYS)
