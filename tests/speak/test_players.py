"""What every player has to do, and what the one that writes files does besides."""

import pytest

from bayhelper.speak import tones
from bayhelper.speak.player import FolderPlayer, SilentPlayer
from bayhelper.speak.voice_process import read_wav

PLAYERS = {
    "folder": lambda path: FolderPlayer(path / "prompts"),
    "silent": lambda _: SilentPlayer(),
}


@pytest.mark.parametrize("name", list(PLAYERS))
def test_every_player_plays_one_sound_after_the_other_and_closes(name, tmp_path):
    player = PLAYERS[name](tmp_path)
    for tone in ("soft", "due", "urgent"):
        file = player.play(tones.render(tone), f"tone-{tone}")
        assert file is None or read_wav(file) == tones.render(tone)
    player.close()
    player.close()


def test_a_second_session_keeps_the_sounds_of_the_first(tmp_path):
    first = FolderPlayer(tmp_path)
    kept = [first.play(tones.render(name), name) for name in ("soft", "due")]
    (tmp_path / "of-mine.wav").write_bytes(b"")  # not numbered: left alone
    later = FolderPlayer(tmp_path).play(tones.render("urgent"), "urgent")
    assert later not in kept and later.name.startswith("0003-")
    assert [read_wav(file) for file in kept] == [tones.render("soft"), tones.render("due")]
