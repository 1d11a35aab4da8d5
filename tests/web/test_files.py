"""Photos are made anew and recognized by their content; logs are text; nothing else of the shop is handed out."""

import io
import struct
import zlib

import pytest
from PIL import Image

from lostgallon.shop.trouble import BadInput
from lostgallon.web.letters import hand_back_record
from lostgallon.web.pictures import MOST_PIXELS, clean_photo
from tests.hard import mangled, sound_files


def photo(kind="JPEG", size=(60, 40), **more):
    out = io.BytesIO()
    Image.new("RGB", size, "#884400").save(out, format=kind, **more)
    return out.getvalue()


def with_place():
    exif = Image.Exif()
    exif[0x010F] = "a maker"
    exif.get_ifd(0x8825)[2] = (48.0, 51.0, 29.0)
    return photo(exif=exif)


def test_place_and_camera_are_left_out():
    assert Image.open(io.BytesIO(with_place())).getexif()
    clean = Image.open(io.BytesIO(clean_photo(with_place())))
    assert clean.size == (60, 40)
    assert not dict(clean.getexif())
    assert b"a maker" not in clean_photo(with_place())


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_photos_of_every_kind_become_jpeg(kind):
    assert clean_photo(photo(kind)).startswith(b"\xff\xd8\xff")


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"GIF89a",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"%PDF-1.7",
        b"\xff\xd8\xff" * 9,
    ],
)
def test_what_is_no_photo_is_refused(content):
    with pytest.raises(BadInput, match="no photo"):
        clean_photo(content)


def test_a_pixel_bomb_is_refused():
    # The head of a PNG (RFC 2083, 4.1.1) that claims more pixels than any camera makes.
    head = b"IHDR" + struct.pack(">IIBBBBB", MOST_PIXELS // 1000 + 1, 1000, 8, 2, 0, 0, 0)
    bomb = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head))
    with pytest.raises(BadInput):
        clean_photo(bomb)


def test_a_photo_is_kept_with_its_check_and_shown(shop, visit):
    shop.post(f"/visit/{visit}/check/wheel_spin", {"result": "found"})
    answer = shop.post(
        f"/visit/{visit}/check/wheel_spin/photos", files={"photos": ("../../x.php", with_place(), "text/html")}
    )
    assert answer.status_code == 303
    kept = shop.desk.sheet(visit).standing["photo.1"].value
    shown = shop.get(f"/visit/{visit}/file/{kept['sha256']}")
    assert shown.headers["content-type"] == "image/jpeg"
    assert kept["sha256"] in shop.get(f"/visit/{visit}/check/wheel_spin").text


def test_a_file_of_another_visit_is_not_handed_out(shop, visit):
    shop.post(f"/visit/{visit}/check/wheel_spin/photos", files={"photos": ("x.jpg", photo(), "image/jpeg")})
    kept = shop.desk.sheet(visit).standing["photo.1"].value
    other = shop.visit(mark="second")
    assert shop.get(f"/visit/{other}/file/{kept['sha256']}").status_code == 404


def test_a_fill_up_log_becomes_evidence(shop, visit):
    log = b"date,odometer km,volume L\n2026-01-01,1000,40\n"
    answer = shop.post(
        f"/visit/{visit}/evidence", {"evidence": "fill_ups"}, files={"file": ("fills.csv", log, "text/csv")}
    )
    assert answer.status_code == 303
    case = shop.desk.sheet(visit).case
    assert case is not None
    assert case.evidence.fill_ups is not None
    assert case.evidence.fill_ups.read_bytes() == log


def test_a_binary_file_is_no_log(shop, visit):
    answer = shop.post(
        f"/visit/{visit}/evidence", {"evidence": "drive_log"}, files={"file": ("x.csv", b"MZ\x00\x01", "text/csv")}
    )
    assert answer.status_code == 422
    assert shop.post(f"/visit/{visit}/evidence", {"evidence": "drive_log"}).status_code == 422


def test_photos_go_into_the_letter_only_where_the_owner_agreed(shop, visit):
    shop.post(f"/visit/{visit}/check/wheel_spin/photos", files={"photos": ("x.jpg", photo(), "image/jpeg")})
    path = shop.desk.store.file_path
    before = hand_back_record(shop.desk.sheet(visit), path)
    assert before.photos
    assert not before.shares.photos
    shop.post(f"/visit/{visit}/release/photos", {"answer": "done"})
    agreed = hand_back_record(shop.desk.sheet(visit), path)
    assert agreed.shares.photos
    assert agreed.photos[0].file.read_bytes().startswith(b"\xff\xd8\xff")


def test_a_measurement_is_read_before_it_is_kept(shop, visit):
    pytest.importorskip("asammdf", reason="the extra for measurements")
    sound = sound_files.mdf_seeds()[0]
    path, kind = f"/visit/{visit}/evidence", {"evidence": "drive_log"}
    answer = shop.post(path, kind, files={"file": ("drive.mf4", sound, "application/octet-stream")})
    assert answer.status_code == 303, answer.text
    # Number 449 overwrites memory in the compiled part of its reader (asammdf 8.8.28), which ends that process alone.
    broken = mangled.mangled(sound_files.mdf_seeds(), 449, "MDF4 logs")
    answer = shop.post(path, kind, files={"file": ("drive.mf4", broken, "application/octet-stream")})
    assert answer.status_code in {303, 422}
    assert shop.get(f"/visit/{visit}").status_code == 200
