"""A folder into which photographs are dropped while the job is open."""

from datetime import timedelta

import pytest

from bayhelper.decide.replay import apply
from bayhelper.remember.photo_folder import EVERY
from bayhelper.remember.pictures import Pictures
from bayhelper.run.bay.watches import PhotoLook
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import Decision
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker
from tests.run.test_photos import exif_jpeg


@pytest.fixture
def worker():
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING, "prepped panel=roof", "laying panel=roof")
    return worker


def drop(folder, name, taken_utc, more=b""):
    folder.mkdir(exist_ok=True)
    stamp = taken_utc.strftime("%Y:%m:%d %H:%M:%S")
    (folder / name).write_bytes(exif_jpeg(stamp, "+00:00") + more)


def looked(watch, worker):
    worker.wait(EVERY.total_seconds())
    sighting = watch.look(worker.it, worker.now_utc, None)
    kept, fault = sighting.outcome.events, sighting.fault
    if kept:
        number = worker.it.number + 1
        decision = Decision(
            job=worker.it.id, number=number, at_utc=worker.now_utc, cause="repair", events=kept
        )
        worker.job = apply(worker.it, decision)
    return [photo.file for photo in kept], fault


def test_a_picture_is_kept_once_it_no_longer_changes(worker, tmp_path):
    inbox, watch = tmp_path / "inbox", PhotoLook(tmp_path / "inbox", Pictures(tmp_path))
    drop(inbox, "a.jpg", worker.now_utc)
    assert looked(watch, worker) == ([], "")
    drop(inbox, "a.jpg", worker.now_utc, b"more of it")
    assert looked(watch, worker) == ([], "")
    assert looked(watch, worker) == (["a.jpg"], "")
    assert looked(watch, worker) == ([], "")
    (photo,) = worker.it.photos
    assert (photo.panel, photo.stage) == ("roof", "coating")
    kept = tmp_path / "photos" / worker.it.id / "a.jpg"
    assert kept.read_bytes() == (inbox / "a.jpg").read_bytes()


def test_pictures_from_before_the_job_are_left_alone(worker, tmp_path):
    watch = PhotoLook(tmp_path / "inbox", Pictures(tmp_path))
    drop(tmp_path / "inbox", "old.jpg", worker.it.opened_at_utc - timedelta(minutes=1))
    assert [looked(watch, worker), looked(watch, worker)] == [([], ""), ([], "")]


def test_after_a_restart_nothing_is_kept_twice(worker, tmp_path):
    drop(tmp_path / "inbox", "a.jpg", worker.now_utc)
    for _ in range(2):
        watch = PhotoLook(tmp_path / "inbox", Pictures(tmp_path))
        found = [looked(watch, worker)[0], looked(watch, worker)[0]]
    assert found == [[], []] and len(worker.it.photos) == 1


def test_a_folder_that_is_missing_is_told_once_and_taken_up_when_it_is_there(worker, tmp_path):
    watch = PhotoLook(tmp_path / "inbox", Pictures(tmp_path))
    assert "inbox" in looked(watch, worker)[1]
    assert looked(watch, worker) == ([], "")
    drop(tmp_path / "inbox", "a.jpg", worker.now_utc)
    assert [looked(watch, worker)[0], looked(watch, worker)[0]] == [[], ["a.jpg"]]


def test_one_that_cannot_be_copied_does_not_stand_in_the_way_of_others(worker, tmp_path):
    class NoRoomForA(Pictures):
        def keep(self, job, picture):
            if picture.file.name == "a.jpg":
                raise RecordError("a.jpg cannot be kept.")
            return super().keep(job, picture)

    inbox, watch = tmp_path / "inbox", PhotoLook(tmp_path / "inbox", NoRoomForA(tmp_path))
    for name in ("a.jpg", "b.jpg"):
        drop(inbox, name, worker.now_utc + timedelta(seconds=ord(name[0])))
    assert [looked(watch, worker) for _ in range(3)] == [
        ([], ""),
        ([], "a.jpg cannot be kept."),
        (["b.jpg"], ""),
    ]
