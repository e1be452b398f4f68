"""What a file is follows from its content; what is shown of a picture is its pixels alone.

Sources of the file formats: JPEG ITU-T T.81, PNG W3C recommendation (third edition), PDF ISO
32000-1, Exif 2.32 (tags 0x8825 GPS, 0x0112 orientation). They are read and written here by
Pillow, which the test asks again what a shown picture still holds.
"""

import hashlib
import struct
import zlib
from io import BytesIO

import pytest
from PIL import Image, ImageFile
from PIL.PngImagePlugin import PngInfo

from properties.incidents.evidence import NotEvidence, plain_name, read_evidence

GPS, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F


def picture(form="JPEG", size=(40, 30), *, mode="RGB", colour="red", **saved):
    out = BytesIO()
    Image.new(mode, size, colour).save(out, form, **saved)
    return out.getvalue()


def located_jpeg(**more):
    exif = Image.Exif()
    exif[MAKER] = "Secretmaker"
    exif[ORIENTATION] = 6  # turned by a quarter: shown, width and height change places
    exif.get_ifd(GPS).update({1: "N", 2: (43.0, 12.0, 0.0), 3: "W", 4: (91.0, 30.0, 0.0)})
    return picture(exif=exif, comment=b"Secretcomment", **more)


def read(content, name="a.jpg", **limits):
    return read_evidence(
        content, name=name, **{"most_bytes": 1_000_000, "most_pixels": 1_000_000, **limits}
    )


def test_a_position_stays_in_the_original_and_is_not_in_what_is_shown():
    content = located_jpeg()

    found = read(content)

    assert found.original == content
    assert found.digest == hashlib.sha256(content).hexdigest()
    assert found.holds_position
    shown = Image.open(BytesIO(found.shown))
    assert dict(shown.getexif()) == {}
    assert b"Secret" in content
    assert b"Secret" not in found.shown
    assert b"Exif" not in found.shown


def test_a_picture_is_shown_as_the_camera_was_held():
    found = read(located_jpeg())

    assert (found.width_px, found.height_px) == (40, 30)
    assert Image.open(BytesIO(found.shown)).size == (30, 40)


def test_a_picture_without_a_position_says_so():
    assert not read(picture()).holds_position


def test_words_in_a_png_are_not_shown_and_its_clear_parts_stay_clear():
    words = PngInfo()
    words.add_text("Author", "Secretauthor")

    found = read(picture("PNG", mode="RGBA", colour=(0, 0, 0, 0), pnginfo=words))

    assert found.media_type == "image/png"
    assert b"Secretauthor" in found.original
    assert b"Secretauthor" not in found.shown
    assert Image.open(BytesIO(found.shown)).getpixel((3, 3)) == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("form", "media_type", "ending"),
    [
        ("JPEG", "image/jpeg", "jpg"),
        ("PNG", "image/png", "png"),
        ("WEBP", "image/webp", "webp"),
    ],
)
def test_the_content_decides_what_a_file_is_whatever_it_is_called(form, media_type, ending):
    found = read(picture(form), name="gate.exe")

    assert (found.media_type, found.name) == (media_type, f"gate.{ending}")


def test_a_pdf_is_taken_as_it_is():
    content = b"%PDF-1.7\n1 0 obj\nendobj\n%%EOF\n"

    found = read(content, name="letter.html")

    assert (found.media_type, found.name) == ("application/pdf", "letter.pdf")
    assert (found.original, found.shown) == (content, None)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<html><script>alert(1)</script></html>",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"PK\x03\x04 a zip of many",
        b"\x7fELF program",
        b"%PDF-1.7\ncut off",
        b"words first\n%PDF-1.7\n%%EOF\n",
        b"GIF89a" + b"\0" * 40,
    ],
)
def test_anything_else_is_refused_even_under_the_name_of_a_picture(content):
    with pytest.raises(NotEvidence):
        read(content, name="photo.jpg")


def test_a_picture_that_is_cut_off_is_refused():
    with pytest.raises(NotEvidence, match="cannot be read"):
        read(picture(size=(300, 300), colour=None)[:400])


def test_the_size_of_a_file_has_a_limit_at_the_byte():
    content = picture()

    assert read(content, most_bytes=len(content))
    with pytest.raises(NotEvidence, match="at most"):
        read(content, most_bytes=len(content) - 1)


def test_the_size_of_a_picture_has_a_limit_at_the_pixel():
    assert read(picture(), most_pixels=1_200)
    with pytest.raises(NotEvidence, match="pixels"):
        read(picture(), most_pixels=1_199)


def test_a_bomb_is_refused_by_its_head_before_it_is_unpacked(monkeypatch):
    unpacked = []
    monkeypatch.setattr(Image.Image, "load", lambda self: unpacked.append(self))

    with pytest.raises(NotEvidence, match="10000 × 10000 pixels"):
        read(bomb(10_000, 10_000), most_pixels=50_000_000)
    with pytest.raises(NotEvidence, match="Bomb"):  # the reader's own limit comes first
        read(bomb(60_000, 60_000), most_pixels=50_000_000)

    assert unpacked == []


def bomb(width, height):
    """A PNG of one colour: some hundred bytes that would fill gigabytes."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 1_000, 9)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in ((b"IHDR", head), (b"IDAT", body), (b"IEND", b""))
    )


@pytest.mark.parametrize("forgiving", [False, True])
def test_words_that_unpack_to_much_more_than_they_are_make_no_picture(monkeypatch, forgiving):
    # As the library that lays out PDF pages leaves it behind.
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", forgiving)
    packed = zlib.compress(b"a" * 80_000_000, 9)
    words = b"Comment\0\0" + packed
    good = picture("PNG")
    chunk = struct.pack(">I", len(words)) + b"zTXt" + words
    chunk += struct.pack(">I", zlib.crc32(b"zTXt" + words))
    content = good[:33] + chunk + good[33:]

    with pytest.raises(NotEvidence):
        read(content)


def test_a_film_is_refused():
    out = BytesIO()
    frames = [Image.new("RGB", (8, 8), colour) for colour in ("red", "green", "blue")]
    frames[0].save(out, "PNG", save_all=True, append_images=frames[1:])

    with pytest.raises(NotEvidence, match="film"):
        read(out.getvalue())


@pytest.mark.parametrize(
    ("claimed", "kept"),
    [
        ("../../etc/passwd", "passwd.pdf"),
        ("C:\\files\\gate photo.JPG", "gate photo.pdf"),
        ('a"; filename="b.html', "a filenameb.pdf"),
        ("line\r\nbreak.pdf", "linebreak.pdf"),
        ("...", "evidence.pdf"),
        ("", "evidence.pdf"),
    ],
)
def test_a_name_keeps_no_folder_and_nothing_that_ends_a_header(claimed, kept):
    assert plain_name(claimed, ".pdf") == kept
