"""Simulated students answer as their beliefs say; the demo class is whole, and the same every time."""

import shutil
from collections import Counter
from functools import cache
from pathlib import Path
from random import Random

import msgspec
import pytest
from scipy import stats

from lubberline.classroom import demo_term
from lubberline.classroom.demo_term import Mind, Term, answer, demo_class
from lubberline.classroom.diagnosis.diagnose import diagnose_all
from lubberline.classroom.diagnosis.likelihood import table_of
from lubberline.classroom.marking import marked
from lubberline.cli import main
from lubberline.errors import InputError
from lubberline.questions.bank import model_named
from lubberline.questions.generate import generate
from lubberline.store.school import open_school

FOLDER = Path(__file__).parents[2] / "demo" / "class"


@cache
def term() -> Term:
    return demo_class(FOLDER)


def test_a_belief_gives_its_own_answer() -> None:
    for seed in range(20):
        table = table_of(generate(model_named("wander-reading-after"), seed))
        for idea, said in table.said.items():
            given = answer(Mind((idea,), 0.0, 0.0), table, Random(seed))
            if said.options:
                assert given.chosen in said.options
        assert answer(Mind((), 0.0, 0.0), table, Random(1)).chosen == table.item.key


def test_slips_and_guesses_come_at_their_rates() -> None:
    table = table_of(generate(model_named("wander-rate"), 1))
    random = Random(3)
    count = 4000
    wrong = sum(answer(Mind((), 0.1, 0.15), table, random).chosen != table.item.key for _ in range(count))
    options = len(table.item.options)
    expected = 0.15 * (options - 1) / options + 0.85 * 0.1
    assert stats.binomtest(wrong, count, expected).pvalue > 0.001


def test_an_outside_idea_is_wrong_and_always_the_same() -> None:
    mind = Mind((), 0.0, 0.0, ("earth",), 7)
    wrong = 0
    for seed in range(30):
        table = table_of(generate(model_named("wander-rate"), seed))
        first, second = (answer(mind, table, Random(other)) for other in (1, 2))
        assert first == second
        wrong += first.chosen != table.item.key
    assert wrong > 10
    elsewhere = table_of(generate(model_named("compass-from-true"), 1))
    assert answer(mind, elsewhere, Random(1)).chosen == elsewhere.item.key


def test_rates_that_are_none_are_refused() -> None:
    with pytest.raises(InputError, match="from 0 to 1"):
        answer(Mind((), 1.5, 0.0), table_of(generate(model_named("wander-rate"), 1)), Random(1))


def test_the_term_is_whole() -> None:
    made = term()
    assert len(made.students) == 14
    assert "demo class" in made.title
    keys = {sitting.id: {one.key for one in sitting.asked} for sitting in made.sittings}
    assert all(one.key in keys[one.sitting] for one in made.answers)
    places = {(place.sitting, place.student) for place in made.places}
    assert {(one.sitting, one.student) for one in made.answers} == places
    assert Counter(sitting.kind for sitting in made.sittings) == {"paper": 5, "lesson": 3}
    assert list(made.sittings) == sorted(made.sittings, key=lambda one: one.opened_utc)
    assert {one.field for one in made.corrections} == {"chosen", "points", "struck"}
    assert all(one.before != one.after for one in made.corrections)


def test_the_same_files_give_the_same_term() -> None:
    assert demo_class(FOLDER) == term()


def test_what_was_planted_is_found_in_the_papers_it_was_asked_in() -> None:
    made = term()
    sitting = next(one for one in made.sittings if one.title == "Drift and setting")
    answers = [one for one in made.answers if one.sitting == sitting.id]
    by_student: dict[str, list[object]] = {one.id: [] for one in made.students}
    for one in marked(sitting, answers):
        by_student[one.answer.student].append(one)
    found = diagnose_all(by_student)  # type: ignore[arg-type]
    names = {one.name: one.id for one in made.students}
    assert found[names["Corrin"]].p("rises-in-the-north") > 0.8
    assert found[names["Fennet"]].p("same-wander-everywhere") > 0.8
    assert all(law.verdict != "holds" for law in found[names["Elowin"]].laws)


def test_what_is_wrong_in_the_files_is_named(tmp_path: Path) -> None:
    for file, old, new, complaint in (
        ("students.toml", '"no-earth-wander"', '"no-earth-wonder"', "no-earth-wonder"),
        ("students.toml", 'law = "earth"', 'law = "moon"', "moon"),
        ("students.toml", "slip = 0.05", 'slip = "few"', "slip"),
        ("students.toml", 'name = "Bryony"', 'name = "Alder"', "name"),
        ("term.toml", "question = 16", "question = 160", "A160"),
        ("term.toml", 'blueprint = "papers/air.toml"', 'blueprint = "papers/none.toml"', "none.toml"),
        ("term.toml", "seed =", "sead =", "sead"),
        ("term.toml", "[[sitting]]", "[[sitting", "TOML"),
    ):
        folder = tmp_path / "demo" / "class"
        shutil.rmtree(tmp_path / "demo", ignore_errors=True)
        shutil.copytree(FOLDER.parent, tmp_path / "demo")
        text = (folder / file).read_text()
        assert old in text
        (folder / file).write_text(text.replace(old, new, 1))
        with pytest.raises(InputError) as refused:
            demo_class(folder)
        assert complaint in str(refused.value)


def test_the_command_fills_and_empties_the_records(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LUBBERLINE_DATABASE", f"sqlite:///{tmp_path / 'school.sqlite3'}")
    first = tuple(sitting for sitting in term().sittings if sitting.kind == "paper")[:2]
    ids = {sitting.id for sitting in first}
    places, answers, corrections = (
        tuple(one for one in rows if one.sitting in ids)
        for rows in (term().places, term().answers, term().corrections)
    )
    short = msgspec.structs.replace(
        term(), sittings=first, places=places, answers=answers, corrections=corrections
    )
    monkeypatch.setattr(demo_term, "demo_class", lambda folder: short)
    school = open_school()
    own = school.people.add_group("My own class")
    assert main(["demo-class"]) == 0
    assert "invented" in capsys.readouterr().out
    group = school.demo.find()
    assert group is not None
    assert len(school.people.students(group.id)) == 14
    sittings = school.sittings.listing(group.id)
    assert len(sittings) == 2
    assert sum(len(school.answers.of_sitting(one.id)) for one in sittings) == len(answers)
    assert sum(len(school.answers.corrections_of(one.id)) for one in sittings) == len(corrections)
    assert all(not one.code and one.closed_utc for one in sittings)
    assert main(["demo-class"]) == 2
    assert "already" in capsys.readouterr().err
    capsys.readouterr()
    assert main(["demo-class", "--remove"]) == 2
    said = capsys.readouterr()
    assert f"1 class, 14 students, 2 sittings, {len(answers)} answers" in said.out
    assert "add --yes" in said.err
    assert school.demo.find() == group
    assert main(["demo-class", "--remove", "--yes"]) == 0
    assert "records bring-back" in capsys.readouterr().out
    assert [one.id for one in school.people.groups()] == [own.id]
    assert school.sittings.listing() == ()
    assert main(["demo-class", "--remove"]) == 2
    school.close()
