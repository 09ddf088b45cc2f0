"""A diagnosis as plain values: for each law the truth and each wrong idea, with the answers."""

from typing import Literal

import msgspec

Verdict = Literal["knows", "holds", "perhaps", "other", "unclear", "not-asked"]


class Evidence(msgspec.Struct, frozen=True):
    """One answer, and whether it fits an idea.

    Attributes:
        key: of the question in its sitting, as 'A7'.
        sitting: id.
        model: of the question.
        answered: as written, as '286°'.
        expected: the answer of the idea, as written; '' if it is none of the options.
        fits: whether the answer is the expected one.
        right: whether the answer was right.
        sentence: the same in words.
    """

    key: str
    sitting: str
    model: str
    answered: str
    expected: str
    fits: bool
    right: bool
    sentence: str


class Held(msgspec.Struct, frozen=True):
    """A wrong idea of a law, or several that no question so far can tell apart.

    Attributes:
        ideas: ids; more than one for a group.
        statements: what a student who holds it would say, one for each.
        mends: the sentences that correct it, one for each.
        scenes: ids of the scenes that show it.
        p: probability that the student holds it (or one of the group).
        fitting: answers that fit it.
        asked: answers that could have shown it.
        evidence: these answers.
        sentence: the reasons, in words.
    """

    ideas: tuple[str, ...]
    statements: tuple[str, ...]
    mends: tuple[str, ...]
    scenes: tuple[str, ...]
    p: float
    fitting: int
    asked: int
    evidence: tuple[Evidence, ...]
    sentence: str


class LawDiagnosis(msgspec.Struct, frozen=True):
    """What a student seems to think about one law.

    Attributes:
        law: id in `misconceptions.LAWS`.
        title: what it is about, to follow 'On'.
        topic: of the bank.
        verdict: 'knows', 'holds' (an idea, likely), 'perhaps' (an idea, more likely than not), 'other' (a
            wrong idea that is not in the catalogue, or none at all), 'unclear', or 'not-asked'.
        p_truth: probability of the truth, or of an idea in `untested`.
        p_other: of some other wrong idea, or of guessing every answer.
        held: the ideas that could have shown, the likeliest first.
        untested: ideas of this law that no answer so far could have shown.
        asked: answers that could show an idea.
        right: how many of them were right.
        sentence: in words.
    """

    law: str
    title: str
    topic: str
    verdict: Verdict
    p_truth: float
    p_other: float
    held: tuple[Held, ...]
    untested: tuple[str, ...]
    asked: int
    right: int
    sentence: str


class SlipSeen(msgspec.Struct, frozen=True):
    """A slip in working or reading that an answer shows; it is not a wrong idea.

    Attributes:
        slip: id in `questions.slips`.
        statement: what went wrong.
        mend: the sentence that corrects it.
        keys: the questions.
        sentence: in words.
    """

    slip: str
    statement: str
    mend: str
    keys: tuple[str, ...]
    sentence: str


class Diagnosis(msgspec.Struct, frozen=True):
    """What one student seems to think.

    Attributes:
        student: id.
        laws: every law that an answer touched, those with the likeliest ideas first; then the others, as
            'not asked'.
        slips: slips in working or reading.
        answers: how many answers were read.
        care: probability that an answer is what the student thinks and not a slip or a guess.
        sentence: in words.
    """

    student: str
    laws: tuple[LawDiagnosis, ...]
    slips: tuple[SlipSeen, ...]
    answers: int
    care: float
    sentence: str

    @property
    def held(self) -> tuple[Held, ...]:
        """The ideas that the student probably holds, the likeliest first."""
        found = [law.held[0] for law in self.laws if law.verdict == "holds"]
        return tuple(sorted(found, key=lambda held: -held.p))

    def p(self, idea: str) -> float:
        """Probability of an idea, or of its group if it is one of several; 0 if no question shows it."""
        return next((held.p for law in self.laws for held in law.held if idea in held.ideas), 0.0)


class IdeaInClass(msgspec.Struct, frozen=True):
    """How many students of a class hold an idea.

    Attributes:
        ideas: id, or ids if they could not be told apart for any student.
        law: id.
        statements: what they would say.
        scenes: ids of the scenes that show it.
        expected: expected count of students.
        low: lower end of the 90% range of the count (5%).
        high: upper end (95%).
        tested: students with an answer that could show it.
        students: ids of those who probably hold it, the likeliest first.
        sentence: in words.
    """

    ideas: tuple[str, ...]
    law: str
    statements: tuple[str, ...]
    scenes: tuple[str, ...]
    expected: float
    low: int
    high: int
    tested: int
    students: tuple[str, ...]
    sentence: str


class ClassPicture(msgspec.Struct, frozen=True):
    """Who believes what in a class.

    Attributes:
        students: how many.
        ideas: most common first.
        sentence: in words.
    """

    students: int
    ideas: tuple[IdeaInClass, ...]
    sentence: str


class TeachAgain(msgspec.Struct, frozen=True):
    """A law to reteach.

    Attributes:
        law: id.
        title: what it is about.
        topic: of the bank.
        expected: expected count of students with a wrong idea about it.
        low: lower end of the 90% range (5%).
        high: upper end (95%).
        ideas: the wrong ideas on it, most common first.
        scene: id of the scene that shows the most common idea; '' if there is none.
        mend: the sentence that corrects the most common idea.
        students: ids of those who probably need it.
        sentence: in words.
    """

    law: str
    title: str
    topic: str
    expected: float
    low: int
    high: int
    ideas: tuple[IdeaInClass, ...]
    scene: str
    mend: str
    students: tuple[str, ...]
    sentence: str
