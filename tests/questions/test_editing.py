"""Other words, retired questions and locked papers: what is taken, what is refused, and round trips."""

import hashlib
import json
import re
import tomllib
from functools import cache

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.errors import InputError
from lubberline.questions.bank import model_named, models
from lubberline.questions.bank_changes import (
    Retired,
    read_retired,
    read_words,
    retired_from_text,
    retired_toml,
    texts_of,
    words_from_text,
    words_toml,
)
from lubberline.questions.blueprint import Blueprint, blueprint_from_text
from lubberline.questions.generate import generate
from lubberline.questions.handwritten import items_from_text
from lubberline.questions.locked_papers import digest_of, locked_from_text, locked_text, read_locked
from lubberline.questions.papers import Paper
from tests.questions.item_checks import check_item

WORD_MODEL = "suction-which-fault"
CHOICES = texts_of(model_named(WORD_MODEL).words)
OWN = items_from_text(
    "own.md", "# My own\ntopic: wander\nlevel: apply\n\nSo?\n- [x] a\n  Y.\n- [ ] b\n  N.\n"
)[0].item


@pytest.mark.parametrize("model", models().values(), ids=lambda model: model.id)
def test_the_words_of_every_model_can_be_written_and_read(model):
    assert words_from_text("w.toml", words_toml(model))[model.id] == model


def test_changed_words_are_printed_and_the_sums_stay(tmp_path):
    stem = CHOICES["stem"].replace("Which single fault fits", "One fault alone: which fits")
    words = f"[{WORD_MODEL}]\nstem = {json.dumps(stem)}\n[{WORD_MODEL}.options]\npump = 'a tired pump'\n"
    (tmp_path / "words.toml").write_text(words)
    changed = read_words(tmp_path / "words.toml")
    assert list(changed) == [WORD_MODEL]
    for seed in range(8):
        new, old = generate(changed[WORD_MODEL], seed), generate(model_named(WORD_MODEL), seed)
        assert (new.id, new.key, new.figure) == (old.id, old.key, old.figure)
        assert "One fault alone: which fits" in new.stem
        assert "a weak pump" not in " ".join(option.text for option in new.options)
        assert check_item(changed[WORD_MODEL], new) == []


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        ("[wander-rat]\nstem = 'a'", "w.toml", "did you mean 'wander-rate'?"),
        ("stem = 'a'", "w.toml", "there is no model 'stem'"),
        ("wander-rate = 'a'", "w.toml, wander-rate", "it is not a table"),
        ("[wander-rate]\nstem = 4", "w.toml, wander-rate, stem", "it is not a text"),
        ("[wander-rate]\nstem.a = 'b'", "w.toml, wander-rate", "no text 'stem.a'; did you mean 'stem'?"),
        ("[wander-rate]\nstem = 'At a place?'", "w.toml, wander-rate, stem", "{latitude} is missing"),
        ("[wander-rate]\nstem = 'At {latitud}?'", "w.toml, wander-rate, stem", "allowed here: {latitude}"),
        ("[wander-rate]\nstem = 'At {latitude}{key}?'", "w.toml, wander-rate, stem", "no value {key}"),
        (
            "[wander-rate]\nstem = 'At {latitude:>99}?'",
            "w.toml, wander-rate, stem",
            "no value {latitude:>99}",
        ),
        ("[wander-rate]\nstem = 'At {latitude!r}?'", "w.toml, wander-rate, stem", "no value {latitude!r}"),
        ("[wander-rate]\nstem = 'At {latitude.x}?'", "w.toml, wander-rate, stem", "no value {latitude.x}"),
        ("[wander-rate]\nstem = 'At {latitude}{}?'", "w.toml, wander-rate, stem", "no value {}"),
        ("[wander-rate]\nstem = 'At {latitude?'", "w.toml, wander-rate, stem", "a brace is wrong"),
        ("[wander-rate]\nstem = ' '", "w.toml, wander-rate, stem", "the text is empty"),
        (f"[{WORD_MODEL}.options]\npumps = 'a'", f"w.toml, {WORD_MODEL}", "did you mean 'options.pump'?"),
        (
            f"[{WORD_MODEL}.options]\npump = 'A clogged  filter'",
            f"w.toml, {WORD_MODEL}, options.filter",
            "it has the same words as 'pump'",
        ),
        ("[wander-rate", "w.toml, line 1", "not valid TOML"),
    ],
)
def test_words_that_do_not_fit_are_refused_with_what_would(text, where, words):
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        words_from_text("w.toml", text)
    assert caught.value.where == where


NAMES = st.sampled_from(
    ["wander-rate", WORD_MODEL, "stem", "options", "pump", "feedback", "phrases", "models", "items"]
)
TEXTS = st.one_of(
    st.sampled_from(["{latitude}", "{", "}", "{0}", "{key}", "{a[0]}", "text"]), st.text(max_size=8)
)
TABLES = st.recursive(
    TEXTS | st.integers(), lambda inner: st.dictionaries(NAMES, inner, max_size=3), max_leaves=8
)


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_toml(entry)}" for key, entry in value.items()) + "}"
    return json.dumps(value)


@given(st.one_of(st.text(), st.dictionaries(NAMES, TABLES, max_size=3)))
def test_readers_of_toml_read_or_refuse(given_):
    text = given_ if isinstance(given_, str) else "\n".join(f"{k} = {_toml(v)}" for k, v in given_.items())
    for read in (words_from_text, retired_from_text):
        try:
            made = read("w.toml", text)
        except InputError:
            continue
        if isinstance(made, dict):
            for model in made.values():
                generate(model, 1)


@given(st.sampled_from(sorted(models())), st.data())
def test_whatever_words_are_taken_the_model_can_still_be_asked(id, data):
    texts = texts_of(models()[id].words)
    place = data.draw(st.sampled_from(sorted(texts)))
    names = sorted(set(re.findall(r"{\w+}", " ".join(texts.values()))))
    text = texts[place] + data.draw(st.sampled_from([*names, "{key}", "{this}", "{phrase}", " more"]))
    group, _, name = place.partition(".")
    table = {group: {name: text}} if name else {group: text}
    try:
        changed = words_from_text("w.toml", f"{id} = " + _quoted(table))
    except InputError:
        return
    for seed in range(4):
        assert "unfinished" not in check_item(changed[id], generate(changed[id], seed))


def _quoted(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {_quoted(entry)}" for key, entry in value.items()) + "}"
    return json.dumps(value)


def test_retired_models_and_items(tmp_path):
    one, other = generate(model_named("wander-rate"), 1), generate(model_named("wander-rate"), 2)
    (tmp_path / "r.toml").write_text(f'models = ["{WORD_MODEL}"]\nitems = ["{one.id}", "hand-my-own"]\n')
    found = read_retired(tmp_path / "r.toml")
    assert [found.holds(item) for item in (one, other, OWN)] == [True, False, True]
    assert found.holds(generate(model_named(WORD_MODEL), 1))
    assert retired_from_text("r.toml", retired_toml(found)) == found
    assert tomllib.loads(retired_toml(Retired())) == {"models": [], "items": []}


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        ("models = ['wander-rat']", "r.toml, models", "did you mean 'wander-rate'?"),
        ("items = ['wander-rate']", "r.toml, items", "is not the id of an item"),
        ("items = ['wander-rat-01234567']", "r.toml, items", "did you mean 'wander-rate'?"),
        ("item = []", "r.toml, item", "unknown key"),
        ("models = 3", "r.toml, models", "expected `array`"),
        ("models =", "r.toml, line 1", "not valid TOML"),
    ],
)
def test_what_cannot_be_retired_is_refused(text, where, words):
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        retired_from_text("r.toml", text)
    assert caught.value.where == where


def blueprint() -> Blueprint:
    return blueprint_from_text("b.toml", 'title = "All"\n[[topic]]\nname = "wander"\napply = 1\n')


@cache
def every_model() -> tuple[Paper, ...]:
    """Two papers with an item of every model and one by hand."""
    return tuple(
        Paper("All", form, (*(generate(model, seed) for model in models().values()), OWN), seed, blueprint())
        for seed, form in enumerate("AB")
    )


@cache
def locked() -> str:
    """The file of these papers."""
    return locked_text(every_model())


def test_a_locked_paper_is_the_same_with_every_model(tmp_path):
    (tmp_path / "locked.json").write_text(locked(), encoding="utf-8")
    again = read_locked(tmp_path / "locked.json")
    assert again == every_model()
    assert [[item.id for item in paper.items] for paper in again] == [
        [item.id for item in paper.items] for paper in every_model()
    ]
    assert digest_of(again) == digest_of(every_model()) == json.loads(locked())["digest"]
    assert locked_text(again) == locked()


def test_a_change_in_a_locked_paper_is_seen():
    file = json.loads(locked())
    assert locked_from_text("l.json", json.dumps(file)) == every_model()  # laid out in another way: no change
    file["papers"][0]["items"][0]["key"] += 1
    with pytest.raises(InputError, match="changed after it was locked"):
        locked_from_text("l.json", json.dumps(file))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"form": "../A"}, "the letter is not valid"),
        ({"items": []}, "the letter is not valid"),
        ({"form": "B"}, "two papers have the same letter"),
        ({"items": [{**msgspec.to_builtins(OWN), "key": 9}]}, "question 1: there is no key"),
        ({"items": [3]}, "not a file of locked papers"),
        ({"items": 3}, "not a file of locked papers"),
        ({"title": 3}, "not a file of locked papers"),
    ],
)
def test_papers_locked_by_other_means_must_be_whole(changes, words):
    plain = msgspec.to_builtins(list(every_model()))
    plain[0].update(changes)
    file = {**json.loads(locked()), "papers": plain}
    file["digest"] = hashlib.sha256(msgspec.json.encode(plain, order="sorted")).hexdigest()
    with pytest.raises(InputError, match=words):
        locked_from_text("l.json", json.dumps(file))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "[" * 100_000,
        "\ud800",
        '{"papers": []}',
    ],
)
def test_what_is_no_locked_paper_is_refused(text):
    with pytest.raises(InputError, match=r"l\.json"):
        locked_from_text("l.json", text)


def test_of_another_version_or_cut_short_it_is_refused():
    for text in (locked().replace('"version": 1', '"version": 2'), locked()[:-40]):
        with pytest.raises(InputError, match=r"l\.json"):
            locked_from_text("l.json", text)


@given(st.integers(0, 3000), st.integers(0, 4), st.text(max_size=4))
def test_a_locked_file_with_one_place_changed_is_the_same_or_refused(at, length, text):
    try:
        again = locked_from_text("l.json", locked()[:at] + text + locked()[at + length :])
    except InputError:
        return
    assert again == every_model()
