"""Evidence leaves as what its content is, to be kept and not to be opened in the page."""

from rest_framework.response import Response

from coop.api.rendering import FastJSONRenderer, PaperRenderer, ReadyRenderer
from properties.incidents.models import EvidenceFile


class JPEGRenderer(ReadyRenderer):
    media_type = "image/jpeg"
    format = "jpg"
    render_style = "binary"


class PNGRenderer(ReadyRenderer):
    media_type = "image/png"
    format = "png"
    render_style = "binary"


class WebPRenderer(ReadyRenderer):
    media_type = "image/webp"
    format = "webp"
    render_style = "binary"


RENDERERS = [PaperRenderer, JPEGRenderer, PNGRenderer, WebPRenderer, FastJSONRenderer]


def file_answer(file: EvidenceFile, content: bytes) -> Response:
    """The bytes as an attachment under a plain name, guessed at by no browser, kept by no cache."""
    ending = file.name.rpartition(".")[2]
    return Response(
        content,
        content_type=file.media_type,
        headers={
            "Content-Disposition": f'attachment; filename="evidence-{file.id.hex[-8:]}.{ending}"',
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": "default-src 'none'; sandbox",
            "Cache-Control": "private, no-store",
        },
    )
