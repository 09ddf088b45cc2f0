"""What a diagnosis says, as plain values: for each law the truth and each wrong idea, with the answers."""

from typing import Literal

import msgspec

Verdict = Literal["knows", "holds", "perhaps", "other", "unclear", "not-asked"]


class Evidence(msgspec.Struct, frozen=True):
    """One answer, and whether it is what somebody with an idea gives.

    Attributes:
        key: of the question in its sitting, as 'A7'.
        sitting: id.
        model: of the question.
        answered: as written, as '286°'.
        expected: what the idea gives there, as written; '' where it gives none of the options.
        fits: whether the answer is that.
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
    """A wrong idea of a law, or several that nothing asked so far can tell apart.

    Attributes:
        ideas: ids; more than one for a group.
        statements: what somebody who holds it would say, one for each.
        mends: the sentences that mend it, one for each.
        scenes: ids of the scenes that show it.
        p: probability that the student holds it (or one of the group).
        fitting: answers that are what it gives.
        asked: answers that could have shown it.
        evidence: these answers.
        sentence: why it is thought, or not, in words.
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
    """What a student seems to think of one law.

    Attributes:
        law: id in `misconceptions.LAWS`.
        title: what it is about, to follow 'On'.
        topic: of the bank.
        verdict: 'knows', 'holds' (an idea, likely), 'perhaps' (an idea, more likely than not), 'other' (a
            wrong idea that is not in the catalogue, or none at all), 'unclear', or 'not-asked'.
        p_truth: probability of the truth, or of an idea in `untested`.
        p_other: of some other wrong idea, or of guessing all through.
        held: the ideas that could have shown, likeliest first.
        untested: ideas of this law that no answer so far could have shown.
        asked: answers that could show something.
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
    """A slip of working or reading that an answer shows; it is no belief.

    Attributes:
        slip: id in `questions.slips`.
        statement: what went wrong.
        mend: the sentence that mends it.
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
        laws: every law that an answer touched, those with the likeliest ideas first; the others, 'not
            asked', after them.
        slips: slips of working.
        answers: how many answers were read.
        care: probability that an answer is what the student thinks, with slips and guesses taken off.
        sentence: in words.
    """

    student: str
    laws: tuple[LawDiagnosis, ...]
    slips: tuple[SlipSeen, ...]
    answers: int
    care: float
    sentence: str

    def p(self, idea: str) -> float:
        """Probability of an idea; of its group where it is one of several; 0 where nothing asked shows it."""
        return next((held.p for law in self.laws for held in law.held if idea in held.ideas), 0.0)


class IdeaInClass(msgspec.Struct, frozen=True):
    """How many of a class hold an idea.

    Attributes:
        ideas: id, or ids where they could not be told apart in any student.
        law: id.
        statements: what they would say.
        scenes: ids of the scenes that show it.
        expected: expected count of students.
        low: least count with 90% (from 5%).
        high: greatest count (to 95%).
        tested: students with an answer that could show it.
        students: ids of those who likely hold it, likeliest first.
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
        students: how many were read.
        ideas: most common first.
        sentence: in words.
    """

    students: int
    ideas: tuple[IdeaInClass, ...]
    sentence: str


class TeachAgain(msgspec.Struct, frozen=True):
    """A law to teach again.

    Attributes:
        law: id.
        title: what it is about.
        topic: of the bank.
        expected: expected count of students with anything wrong on it.
        low: from 5%.
        high: to 95%.
        ideas: the wrong ideas on it, most common first.
        scene: id of the scene that shows the commonest; '' where none does.
        mend: the sentence that mends the commonest.
        students: ids of those who likely need it.
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
