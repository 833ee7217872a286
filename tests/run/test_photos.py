"""Photographs: placed by their time, copied byte for byte, and told in the record.

The pictures are written here as the Exif standard has it (CIPA DC-008, TIFF tags 0x9003, 0x9011).
"""

import io
import json
import os
import struct
from datetime import timedelta, timezone

import pytest

from bayhelper.remember.history import History
from bayhelper.run.cli import main

TYPED = """open a new job
start the wash
start inspection
start the panel wipe
roof prepped
start the coating
laying down the roof
roof is on all round
"""


def exif_jpeg(stamp, offset=""):
    """The smallest picture that carries a time: APP1 with one IFD and its Exif IFD."""
    texts = [(0x9003, stamp.encode() + b"\0")]
    texts += [(0x9011, offset.encode() + b"\0")] if offset else []
    entries, data, at = b"", b"", 8 + 18 + 2 + 12 * len(texts) + 4
    for tag, text in texts:
        entries += struct.pack("<HHII", tag, 2, len(text), at + len(data))
        data += text
    first = struct.pack("<HHHIII", 1, 0x8769, 4, 1, 26, 0)
    second = struct.pack("<H", len(texts)) + entries + struct.pack("<I", 0)
    body = b"Exif\0\0II*\0" + struct.pack("<I", 8) + first + second + data
    return b"\xff\xd8\xff\xe1" + struct.pack(">H", len(body) + 2) + body + b"\xff\xd9"


@pytest.fixture
def shop(tmp_path, monkeypatch, capsys):
    """A data folder with one job, its id, and when its events were."""
    folder = tmp_path / "data"
    monkeypatch.setattr("sys.stdin", io.StringIO(TYPED))
    assert main(["work", "--typed", "--fast", "--data", str(folder)]) == 0
    capsys.readouterr()
    with History.open(folder) as history:
        (job,) = history.jobs()
        events = [event for decision in history.decisions(job) for event in decision.events]
    return folder, job, {type(event).__name__: event.at_utc for event in events}


def photos(capsys, folder, job, *more):
    code = main(["photos", job, "--data", str(folder), *more])
    return code, capsys.readouterr().out.splitlines()


def test_each_is_placed_at_the_panel_and_stage_of_its_time(shop, tmp_path, capsys):
    folder, job, at = shop
    source = tmp_path / "camera"
    source.mkdir()
    laid, opened = at["Covered"], at["JobOpened"]
    india = timezone(timedelta(hours=5, minutes=30))
    late, early = laid + timedelta(seconds=30), opened - timedelta(hours=1)
    content = exif_jpeg(f"{late.astimezone(india):%Y:%m:%d %H:%M:%S}", "+05:30")
    (source / "a.jpg").write_bytes(content)
    (source / "b.JPG").write_bytes(exif_jpeg(f"{early.astimezone():%Y:%m:%d %H:%M:%S}"))
    (source / "c.png").write_bytes(b"no picture, only a file with a time")
    hours = laid + timedelta(hours=2)
    os.utime(source / "c.png", (hours.timestamp(), hours.timestamp()))
    (source / "list.txt").write_text("no picture")
    code, lines = photos(capsys, folder, job, "--from", str(source), "--json")
    rows = {row["file"]: row for row in map(json.loads, lines)}
    assert code == 0 and list(rows) == ["b.JPG", "a.jpg", "c.png"], "in the order they were taken"
    assert (rows["a.jpg"]["panel"], rows["a.jpg"]["stage"]) == ("roof", "coating")
    assert rows["a.jpg"]["taken_at_utc"] == late.replace(microsecond=0).isoformat()
    assert (rows["b.JPG"]["panel"], rows["b.JPG"]["stage"]) == ("", "")
    assert (rows["c.png"]["panel"], rows["c.png"]["time_from"]) == ("", "file")
    assert (folder / "photos" / job / "a.jpg").read_bytes() == content
    assert (source / "a.jpg").read_bytes() == content
    assert main(["show", job, "--data", str(folder)]) == 0
    paper = capsys.readouterr().out
    assert "roof, coating: a.jpg" in paper and "the car, before the job: b.JPG" in paper
    assert "the car, coating: c.png (time of the file)" in paper


def test_the_same_picture_is_kept_once_and_another_of_its_name_beside_it(shop, tmp_path, capsys):
    folder, job, _ = shop
    source = tmp_path / "camera"
    source.mkdir()
    (source / "a.jpg").write_bytes(exif_jpeg("2026:03:02 09:00:00", "+00:00"))
    assert len(photos(capsys, folder, job, "--from", str(source))[1]) == 1
    assert len(photos(capsys, folder, job, "--from", str(source))[1]) == 1
    (source / "a.jpg").write_bytes(exif_jpeg("2026:03:02 09:00:01", "+00:00"))
    _, lines = photos(capsys, folder, job, "--from", str(source))
    assert [line.split(":")[0] for line in lines] == ["a.jpg", "a-2.jpg"]


def test_a_copy_that_was_altered_is_told(shop, tmp_path, capsys):
    folder, job, _ = shop
    source = tmp_path / "camera"
    source.mkdir()
    (source / "a.jpg").write_bytes(exif_jpeg("2026:03:02 09:00:00"))
    photos(capsys, folder, job, "--from", str(source))
    (folder / "photos" / job / "a.jpg").write_bytes(b"other")
    code, lines = photos(capsys, folder, job)
    assert code == 1 and lines[-1] == "a.jpg: missing, or altered since it was kept"


def test_a_folder_that_is_not_there_is_explained(shop, capsys):
    folder, job, _ = shop
    assert main(["photos", job, "--data", str(folder), "--from", "/no/such/folder"]) != 0
    assert "Name the folder" in capsys.readouterr().err
