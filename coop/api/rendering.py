"""What leaves: JSON, fast and without NaN; pages, papers, pictures and files as they are."""

from collections.abc import Mapping
from typing import Any

import orjson
from rest_framework.renderers import BaseRenderer

# Instants in UTC end with Z, whether a serializer wrote them or they come from a column.
OPTIONS = orjson.OPT_NON_STR_KEYS | orjson.OPT_UTC_Z


def json_bytes(data: Any) -> bytes:
    """UTF-8 JSON, as every answer is written."""
    return orjson.dumps(data, default=str, option=OPTIONS)


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
        return json_bytes(data)


# Pages and pictures need their own styles and nothing else from anywhere.
PAGE_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'"
    ),
    "Cache-Control": "private, no-cache",
}


class ReadyRenderer(BaseRenderer):
    """Hands on text or bytes that are ready; problem details leave as JSON, as everywhere."""

    charset = None

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        if isinstance(data, str):
            return data.encode()
        return data if isinstance(data, bytes) else FastJSONRenderer().render(data)


class ReadyJSONRenderer(ReadyRenderer):
    """For JSON that a view has written itself."""

    media_type = "application/json"
    format = "json"


class PageRenderer(ReadyRenderer):
    media_type = "text/html"
    format = "html"


class PaperRenderer(ReadyRenderer):
    media_type = "application/pdf"
    format = "pdf"
    render_style = "binary"


class PictureRenderer(ReadyRenderer):
    media_type = "image/svg+xml"
    format = "svg"


class TableRenderer(ReadyRenderer):
    media_type = "text/csv"
    format = "csv"


class JSONLinesRenderer(ReadyRenderer):
    media_type = "application/jsonl"
    format = "jsonl"


class GeoJSONRenderer(ReadyRenderer):
    media_type = "application/geo+json"
    format = "geojson"


class GPXRenderer(ReadyRenderer):
    media_type = "application/gpx+xml"
    format = "gpx"


class ZipRenderer(ReadyRenderer):
    media_type = "application/zip"
    format = "zip"
