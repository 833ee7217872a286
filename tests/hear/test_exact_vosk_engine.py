"""The engine on whistled speech, for which no network need be trained; see hear.whistling."""

import numpy as np
import pytest

from bayhelper.hear.engines.exact_vosk_engine import KEPT, ExactVoskEngine
from bayhelper.hear.engines.graph_cache import DIGESTS
from bayhelper.hear.engines.lexicon import LEXICON
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.engines.word_automaton import grammar_automaton
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound
from tests.hear.whistling import RATE_HZ, whistled, write_whistling_model

NOTHING = float("-inf")
SILENCE = Sound(bytes(2 * RATE_HZ), RATE_HZ)


def jsgf(rule):
    return f"#JSGF V1.0; grammar g; public <g> = {rule};"


ORDERS = jsgf("hey bay (start wipe [the] (left | right) [front] door | stop)")


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    folder = tmp_path_factory.mktemp("model")
    write_whistling_model(folder)
    return folder


@pytest.fixture(scope="module")
def engine(model, tmp_path_factory):
    with ExactVoskEngine(model, tmp_path_factory.mktemp("cache"), Pronouncer()) as made:
        yield made


@pytest.mark.parametrize(
    "said",
    ["hey bay stop", "hey bay start wipe left door", "hey bay start wipe the right front door"],
)
def test_phrases_are_heard_word_for_word_and_in_their_places(engine, said):
    decode = engine.listen(whistled(*said.split()), ORDERS)
    assert decode.words == tuple(said.split())
    (start_s, end_s), (next_s, _) = decode.word_spans_s[:2]
    assert start_s == pytest.approx(0.2, abs=0.06)
    assert start_s < end_s < next_s
    assert len(decode.word_spans_s) == len(decode.words)


def begins(words, language):
    """Whether a phrase begins so."""
    steps, at = grammar_automaton(language).steps, 0
    for word in words:
        if word not in steps[at]:
            return False
        at = steps[at][word]
    return True


def test_what_is_no_phrase_is_read_as_the_beginning_of_one_or_not_at_all(engine):
    for said in ("start wipe left", "hey bay start", "door door door", "hey"):
        decode = engine.listen(whistled(*said.split()), ORDERS)
        assert begins(decode.words, ORDERS), decode.words


def test_a_phrase_that_breaks_off_is_read_so_far(engine):
    long = jsgf("start wipe the right front door start wipe the right front door")
    sound = whistled("start", "wipe", pause_s=0.03)
    decode = engine.listen_once(sound, long)
    assert decode.words == ("start", "wipe") and decode.others == ()
    assert engine.listen_once(sound, jsgf("start wipe")).words == ("start", "wipe")


def test_free_words_beat_a_wrong_grammar_and_lose_to_the_right_one(engine):
    sound = whistled("hey", "bay", "start", "wipe", "left", "door")
    free = engine.listen_freely(sound)
    assert free.words == ("hey", "bay", "start", "wipe", "left", "door")
    assert engine.listen(sound, ORDERS).score_per_frame > free.score_per_frame
    wrong = jsgf("hey bay stop (the | a) door")
    assert engine.listen_once(sound, wrong).score_per_frame < free.score_per_frame


def test_words_that_sound_alike_are_all_given(engine):
    decode = engine.listen_once(whistled("right", "door"), jsgf("(right | write) door"))
    ((other, score),) = decode.others
    assert {decode.words, other} == {("right", "door"), ("write", "door")}
    assert score == pytest.approx(decode.score_per_frame, abs=1e-4)


def test_other_readings_are_ordered_and_differ(engine):
    rule = "(right | write) (right | write) door"
    decode = engine.listen_once(whistled("right", "right", "door"), jsgf(rule))
    words = [decode.words, *(words for words, _ in decode.others)]
    scores = [decode.score_per_frame, *(score for _, score in decode.others)]
    assert len(set(words)) == len(words) == 4
    assert scores == sorted(scores, reverse=True)


def test_the_address_is_found_where_it_is(engine):
    alone = engine.spot(whistled("hey", "bay", "stop"), "hey bay")
    behind = engine.spot(whistled("Z UW M", "hey", "bay", "stop"), "hey bay")
    absent = engine.spot(whistled("start", "wipe", "left"), "hey bay")
    assert alone.score > 0
    assert behind.score == pytest.approx(alone.score, abs=0.1)
    assert alone.start_s == pytest.approx(0.2, abs=0.06)
    assert behind.start_s == pytest.approx(0.76, abs=0.06)
    assert absent.score < 0


def test_another_phrase_can_be_looked_for(engine):
    sound = whistled("hey", "bay", "stop")
    assert engine.spot(sound, "hey bay").score > 0
    assert engine.spot(sound, "left door").score < 0
    assert engine.spot(sound, "hey bay").score > 0
    assert engine.spot(sound, "").score == NOTHING
    assert engine.spot(sound, "дверь").score == NOTHING


def test_too_little_sound_is_nothing(engine):
    short = Sound(bytes(2 * 1500), RATE_HZ)
    for decode in (engine.listen(short, ORDERS), engine.listen_freely(short)):
        assert (decode.words, decode.score_per_frame) == ((), NOTHING)
    assert engine.spot(short, "hey bay").score == NOTHING


def test_silence_holds_no_words(engine):
    assert engine.listen_freely(SILENCE).words == ()
    assert engine.spot(SILENCE, "hey bay").score < 0


def test_the_same_sound_is_read_the_same_again(engine):
    noise = np.random.default_rng(1).normal(0, 1000, RATE_HZ).astype("<i2").tobytes()
    sound = whistled("hey", "bay", "stop")
    first = engine.listen(sound, ORDERS), engine.listen_freely(sound), engine.spot(sound, "hey bay")
    engine.listen(Sound(noise, RATE_HZ), ORDERS)
    again = engine.listen(sound, ORDERS), engine.listen_freely(sound), engine.spot(sound, "hey bay")
    assert again == first


def test_many_grammars_after_one_another(engine):
    for word in ["stop", "start", "left", "right", "stop"][: KEPT + 3]:
        assert engine.listen(whistled(word), jsgf(f"{word} | door")).words == (word,)


def test_a_word_that_the_model_lacks_is_guessed(engine):
    assert engine.missing_words(("zoom", "stop", "дверь")) == ("дверь",)
    sound = whistled("Z UW M", "door")
    assert engine.listen_once(sound, jsgf("(zoom | left) door")).words == ("zoom", "door")


def test_a_grammar_with_a_word_that_nobody_can_say_is_refused(engine):
    with pytest.raises(HearingError, match="дверь"):
        engine.listen(SILENCE, jsgf("left дверь"))


def test_a_damaged_graph_of_free_words_is_made_again(model, tmp_path):
    sound = whistled("left", "door")

    def read():
        with ExactVoskEngine(model, tmp_path, Pronouncer()) as engine:
            return engine.listen_freely(sound).words

    assert read() == ("left", "door")
    (entry,) = tmp_path.iterdir()
    whole = (entry / "HCLG.fst").read_bytes()
    for damaged in (whole[:2000], b""):
        (entry / "HCLG.fst").write_bytes(damaged)
        assert read() == ("left", "door")
        assert (entry / "HCLG.fst").read_bytes() == whole
    (entry / DIGESTS).unlink()
    assert read() == ("left", "door")


def test_other_pronunciations_are_another_graph(model, tmp_path):
    changed = tmp_path / "model"
    write_whistling_model(changed, {"door": ["D AO R"], "left": ["Z UW M"]})
    for folder, word in ((model, "zoom"), (changed, "left")):
        with ExactVoskEngine(folder, tmp_path / "cache", Pronouncer()) as engine:
            assert (engine.listen_freely(whistled("Z UW M")).words == ("left",)) == (word == "left")
    assert len(list((tmp_path / "cache").iterdir())) == 2


@pytest.mark.parametrize("part", ["am/final.mdl", "conf/model.conf", LEXICON])
def test_a_model_that_lacks_a_part_is_refused(tmp_path, part):
    write_whistling_model(tmp_path)
    (tmp_path / part).unlink()
    with pytest.raises(HearingError, match=part):
        ExactVoskEngine(tmp_path, tmp_path / "cache", Pronouncer())


def test_a_broken_network_is_refused(tmp_path):
    write_whistling_model(tmp_path)
    (tmp_path / "am" / "final.mdl").write_bytes(b"\0B<TransitionModel> ")
    with (
        ExactVoskEngine(tmp_path, tmp_path / "cache", Pronouncer()) as engine,
        pytest.raises(HearingError, match="Vosk cannot load the model"),
    ):
        engine.listen(SILENCE, ORDERS)


def test_where_links_are_not_allowed_files_are_copied(model, tmp_path, monkeypatch):
    def refuse(*_, **__):
        raise OSError

    monkeypatch.setattr("pathlib.Path.symlink_to", refuse)
    with ExactVoskEngine(model, tmp_path, Pronouncer()) as engine:
        assert engine.listen(whistled("hey", "bay", "stop"), ORDERS).words == ("hey", "bay", "stop")


@pytest.mark.parametrize(("softer_db", "said"), [(10, True), (26, False)])
def test_words_where_next_to_nothing_was_said_come_second(engine, softer_db, said):
    sound = whistled(*"hey bay start wipe the left door".split())
    clear = engine.listen(sound, ORDERS)
    span_s = clear.word_spans_s[clear.words.index("the")]
    start, end = (round(at_s * RATE_HZ) for at_s in span_s)
    samples = np.frombuffer(sound.pcm, "<i2").astype(float)
    samples[start:end] *= 10 ** (-softer_db / 20)
    decode = engine.listen(Sound(samples.astype("<i2").tobytes(), RATE_HZ), ORDERS)
    assert ("the" in decode.words) == said
    assert "left" in decode.words
    if not said:
        ((other, score_per_frame),) = decode.others
        assert "the" in other
        assert score_per_frame > decode.score_per_frame
