import gzip
import random

import pytest

from bayhelper.hear.engines.lexicon import Lexicon, lexicon_lines, read_lexicon
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.terms.errors import HearingError


class Guesser(Pronouncer):
    """Knows a few words, and no process of another program."""

    def __init__(self, known):
        super().__init__()
        self.known, self.asked = known, []

    def guess(self, words):
        self.asked.append(tuple(words))
        return {word: self.known[word] for word in words if word in self.known}


@pytest.fixture
def read(tmp_path):
    def written(text, guesser=None, name="lexicon.txt"):
        path = tmp_path / name
        path.write_bytes(gzip.compress(text.encode()) if name.endswith(".gz") else text.encode())
        return read_lexicon(path, guesser)

    return written


@pytest.mark.parametrize("name", ["lexicon.txt", "lexicon.txt.gz"])
def test_a_word_is_said_in_as_many_ways_as_it_has_lines(read, name):
    lexicon = read("the DH AH\nwax W AE K S\nthe DH IY\n", name=name)
    assert lexicon.words == ("the", "wax")
    assert lexicon.pronunciations("the") == (("DH", "AH"), ("DH", "IY"))
    assert lexicon.missing(("wax", "door")) == ("door",)


def test_what_is_written_is_read_again(read):
    known = {"the": (("DH", "AH"), ("DH", "IY")), "wax": (("W", "AE", "K", "S"),)}
    lexicon = read("".join(lexicon_lines(known.items())))
    assert {word: lexicon.pronunciations(word) for word in lexicon.words} == known


def test_words_that_it_lacks_are_guessed_together_and_once():
    guesser = Guesser({"door": "D AO R", "odd": "D XX"})
    lexicon = Lexicon({"wax": [("W", "AE", "K", "S")]}, guesser)
    assert lexicon.missing(("wax", "door", "odd", "none")) == ("odd", "none")
    assert lexicon.pronunciations("door") == (("D", "AO", "R"),)
    assert lexicon.pronunciations("none") == ()
    assert guesser.asked == [("door", "odd", "none")]
    assert lexicon.words == ("wax",)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("wax W AE K S\ndoor D AO Q\n", "Line 2 .* 'Q' where a phone"),
        ("wax\n", "Line 1 .* no word with phones behind it: 'wax'"),
        ("wax W AE K S\n\n", "Line 2 "),
    ],
)
def test_a_wrong_line_is_named(read, text, complaint):
    with pytest.raises(HearingError, match=complaint):
        read(text)


def test_a_file_that_is_missing_cut_off_or_not_packed_is_refused(tmp_path):
    packed = gzip.compress(random.Random(1).randbytes(1000))
    whole = tmp_path / "lexicon.txt.gz"
    for content in (None, packed[:500], b"the DH AH\n", packed):
        if content is not None:
            whole.write_bytes(content)
        with pytest.raises(HearingError, match="Cannot read the pronunciations"):
            read_lexicon(whole)
