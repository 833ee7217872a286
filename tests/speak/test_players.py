"""What the player that writes files does."""

from bayhelper.speak import tones
from bayhelper.speak.player import FolderPlayer
from bayhelper.speak.voice_process import read_wav
from tests.known import known


def test_it_plays_one_sound_after_the_other_and_closes(tmp_path):
    player = FolderPlayer(tmp_path / "prompts")
    for tone in ("soft", "due", "urgent"):
        file = player.play(tones.render(tone), f"tone-{tone}")
        assert file is not None and read_wav(file) == tones.render(tone)
    player.close()
    player.close()


def test_a_second_session_keeps_the_sounds_of_the_first(tmp_path):
    first = FolderPlayer(tmp_path)
    kept = [first.play(tones.render(name), name) for name in ("soft", "due")]
    (tmp_path / "of-mine.wav").write_bytes(b"")  # not numbered: left alone
    later = FolderPlayer(tmp_path).play(tones.render("urgent"), "urgent")
    assert later is not None and later not in kept and later.name.startswith("0003-")
    assert [read_wav(known(file)) for file in kept] == [tones.render("soft"), tones.render("due")]
