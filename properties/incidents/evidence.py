"""What a file of evidence is, by its content; and a picture drawn anew without its metadata.

Pure: bytes in, bytes out. Names and media types that a caller claims are not believed.
"""

import hashlib
import re
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import PurePosixPath

from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError

MB = 1_000_000
_FORMATS = {
    "JPEG": ("image/jpeg", ".jpg"),
    "MPO": ("image/jpeg", ".jpg"),  # a phone's JPEG with a second picture behind the first
    "PNG": ("image/png", ".png"),
    "WEBP": ("image/webp", ".webp"),
}
_READERS = ["JPEG", "PNG", "WEBP"]
_WRITTEN_AS = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}
# Exif 2.32, tag 0x8825: the pointer to the directory of the GPS position.
_GPS = 0x8825
# ISO 32000-1, 7.5.2 and 7.5.5: the head and the end of a PDF.
_PDF_HEAD = re.compile(rb"%PDF-[12]\.\d")
_PDF_END = b"%%EOF"
_END_WITHIN = 1_024
_ONE_AT_A_TIME = threading.Lock()
_KEPT_IN_NAMES = re.compile(r"[^\w .()-]+")


class NotEvidence(ValueError):
    """A file that is not taken; the sentence says why."""


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """A file that may be kept. ``shown`` is None where the original is what is shown."""

    name: str
    media_type: str
    size_bytes: int
    digest: str
    original: bytes
    shown: bytes | None = None
    width_px: int | None = None
    height_px: int | None = None
    holds_position: bool = False


def read_evidence(
    content: bytes, *, name: str, most_bytes: int, most_pixels: int, most_frames: int = 2
) -> Evidence:
    """Judge a file by its content. Raises :class:`NotEvidence`.

    ``most_pixels`` is compared with the size that the head states, before any pixel is
    unpacked; ``most_frames`` refuses films, whose frames could each be as large.
    """
    if not content:
        raise NotEvidence("The file is empty.")
    if len(content) > most_bytes:
        raise NotEvidence(
            f"The file has {len(content)} bytes; at most {most_bytes} are taken here."
        )
    if _PDF_HEAD.match(content):
        if _PDF_END not in content[-_END_WITHIN:]:
            raise NotEvidence("The PDF is cut off: its end is missing.")
        return Evidence(
            name=plain_name(name, ".pdf"),
            media_type="application/pdf",
            size_bytes=len(content),
            digest=hashlib.sha256(content).hexdigest(),
            original=content,
        )
    with _nothing_forgiven():
        return _picture(content, name, most_pixels, most_frames)


def plain_name(name: str, ending: str) -> str:
    """The stem of a caller's file name, without folders or odd characters, and our ending."""
    stem = PurePosixPath(name.replace("\\", "/")).stem
    stem = _KEPT_IN_NAMES.sub("", stem).strip(" .")[:100]
    return f"{stem or 'evidence'}{ending}"


@contextmanager
def _nothing_forgiven() -> Iterator[None]:
    """Broken and hostile files are refused, although the library that lays out PDF pages tells
    Pillow, for the whole process, to make do with them."""
    with _ONE_AT_A_TIME:
        before = ImageFile.LOAD_TRUNCATED_IMAGES
        ImageFile.LOAD_TRUNCATED_IMAGES = False
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = before


def _picture(content: bytes, name: str, most_pixels: int, most_frames: int) -> Evidence:
    try:
        with warnings.catch_warnings():
            # Pillow warns of bombs at a size of its own; ours is compared below.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(BytesIO(content), formats=_READERS)
        width, height = image.size
        if width * height > most_pixels:
            raise NotEvidence(
                f"The picture has {width} × {height} pixels; at most {most_pixels} are taken."
            )
        if getattr(image, "n_frames", 1) > most_frames:
            raise NotEvidence("The picture is a film; send stills.")
        media_type, ending = _FORMATS[image.format or ""]
        holds_position = bool(image.getexif().get_ifd(_GPS))
        shown = _drawn_anew(image, media_type)
    except NotEvidence:
        raise
    except UnidentifiedImageError:
        raise NotEvidence("Only pictures (JPEG, PNG, WebP) and PDF are taken.") from None
    except Exception as error:  # a decoder raises whatever a broken or hostile file brings it to
        raise NotEvidence(f"The picture cannot be read: {type(error).__name__}.") from error
    return Evidence(
        name=plain_name(name, ending),
        media_type=media_type,
        shown=shown,
        width_px=width,
        height_px=height,
        holds_position=holds_position,
        size_bytes=len(content),
        digest=hashlib.sha256(content).hexdigest(),
        original=content,
    )


def _drawn_anew(image: Image.Image, media_type: str) -> bytes:
    """The pixels alone, turned as the camera was held: no position, no maker, no comment."""
    image.load()
    upright = ImageOps.exif_transpose(image)
    has_alpha = upright.mode in ("RGBA", "LA", "PA") or "transparency" in upright.info
    mode = "RGBA" if has_alpha and media_type != "image/jpeg" else "RGB"
    bare = Image.new(mode, upright.size)
    bare.paste(upright.convert(mode))
    out = BytesIO()
    quality = {} if media_type == "image/png" else {"quality": 90}
    bare.save(out, _WRITTEN_AS[media_type], **quality)
    return out.getvalue()
