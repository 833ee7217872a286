"""The halves of the corpora that the ear is tuned and reported on stay apart."""

from __future__ import annotations

from training.make_corpora import address_items, command_items, talk_items
from training.speakers import parse_speaker


def test_halves_of_the_corpora_share_no_voice_and_no_sentence() -> None:
    phrases: list[dict[str, object]] = [
        {"say": f"yes {n}", "command": f"c{n % 3}", "slots": {}} for n in range(9)
    ]
    for items in (talk_items(2, 1), address_items(["x"]), command_items(phrases, 6, 1)):
        voices: dict[str, set[str]] = {"tune": set(), "report": set()}
        for item in items:
            voices[item.half] |= {name for name, _ in parse_speaker(item.line.voice).parts}
        assert voices["tune"] and voices["report"] and not voices["tune"] & voices["report"]
    said: dict[str, set[str]] = {"tune": set(), "report": set()}
    for item in talk_items(2, 1):
        said[item.half].add(item.line.say)
    assert not said["tune"] & said["report"]
    speaker = [i.more["command"] for i in command_items(phrases, 3, 1) if i.speaker == "t1"]
    assert sorted(map(str, speaker)) == ["c0", "c1", "c2"], "all commands before one is repeated"
