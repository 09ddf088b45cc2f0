"""Records of a class as plain values: students, questions, answers and corrections.

The store saves them, the pages show them, and statistics, diagnosis and readiness read only these.
Times are UTC, ISO 8601 with seconds and 'Z'. Ids are text without meaning.
"""

from typing import Literal

import msgspec

from lubberline.questions.item import Item

SittingKind = Literal["lesson", "paper"]
NOT_CHOSEN = -1


class Group(msgspec.Struct, frozen=True):
    """A class: the students who are taught together."""

    id: str
    title: str


class Student(msgspec.Struct, frozen=True):
    """A person of a class, by the name or number they gave.

    Attributes:
        id: of the record.
        group: id of the class.
        name: as given.
        number: the school's own, or ''.
    """

    id: str
    group: str
    name: str
    number: str = ""


class Asked(msgspec.Struct, frozen=True):
    """A question as it was put in a sitting.

    Attributes:
        key: of the place in the sitting: 'A7' for question 7 of form A, 'step-4' for a lesson's prediction.
        item: what was asked, with its key and its slips; a prediction on a dial is a number with `circle`.
        form: the letter of the paper; '' where everybody is asked the same.
    """

    key: str
    item: Item
    form: str = ""


class Sitting(msgspec.Struct, frozen=True):
    """A lesson taught or a paper sat by a class.

    Attributes:
        id: of the record.
        group: id of the class.
        kind: 'lesson' or 'paper'.
        title: as shown.
        opened_utc: when it began.
        closed_utc: when it was closed for answers; '' while it is open.
        asked: its questions in order, all forms.
        source: text of the lesson's file; '' for a paper.
        code: what students type to join; '' when joining is closed.
        step: the lesson's current step, from 0; -1 while the class joins.
        phase: of that step: 'open' for answers, 'closed', or 'shown' after the reveal.
        minutes: a paper's time limit; 0 without one.
        on_paper: answers are on paper and typed in or read from CSV.
        countdown_utc: when the countdown that the class sees ends; '' without one.
        closes_utc: when the question closes by itself; '' if it does not.
    """

    id: str
    group: str
    kind: SittingKind
    title: str
    opened_utc: str
    closed_utc: str = ""
    asked: tuple[Asked, ...] = ()
    source: str = ""
    code: str = ""
    step: int = 0
    phase: str = "open"
    minutes: float = 0.0
    on_paper: bool = False
    countdown_utc: str = ""
    closes_utc: str = ""

    @property
    def forms(self) -> tuple[str, ...]:
        """The letters of its forms in order; none where everybody is asked the same."""
        return tuple(dict.fromkeys(asked.form for asked in self.asked if asked.form))

    def asked_in(self, form: str) -> tuple[Asked, ...]:
        """The questions of one form, in order."""
        return tuple(asked for asked in self.asked if asked.form in ("", form))


class Place(msgspec.Struct, frozen=True):
    """A student's place in a sitting.

    Attributes:
        sitting: id.
        student: id.
        form: of the paper; '' in a lesson.
        began_utc: when they joined; a time limit runs from then.
        ended_utc: when they handed in; '' before that.
        secret_hash: digest of the secret in their browser; '' on paper.
        extra_min: time beyond the sitting's limit that the instructor gave this student.
        joined: a number that grows with each who joins; 0 where only the second is known.
    """

    sitting: str
    student: str
    form: str = ""
    began_utc: str = ""
    ended_utc: str = ""
    secret_hash: str = ""
    extra_min: float = 0.0
    joined: int = 0

    def limit_s(self, sitting: Sitting) -> float | None:
        """How long this student has after joining; None without a limit."""
        return 60.0 * (sitting.minutes + self.extra_min) if sitting.minutes else None


class Answer(msgspec.Struct, frozen=True):
    """One student's answer to one question: the last one that counts.

    Attributes:
        sitting: id.
        student: id.
        key: of `Asked`.
        chosen: index into the item's options; -1 if none was chosen.
        value: a number or a dial's direction in the item's unit; None for choices.
        answered_utc: when the server received it.
        sent: the browser's id of this message, so that sending it twice counts once.
        seconds: how long the student took; 0 if unknown.
    """

    sitting: str
    student: str
    key: str
    chosen: int = NOT_CHOSEN
    value: float | None = None
    answered_utc: str = ""
    sent: str = ""
    seconds: float = 0.0

    @property
    def blank(self) -> bool:
        """Whether nothing was answered."""
        return self.chosen == NOT_CHOSEN and self.value is None


class ClaimedTime(msgspec.Struct, frozen=True):
    """When an answer was given, by the clock of the device.

    Attributes:
        given_utc: the server's time as the device knew it: the last time received plus what has passed since.
        heard_utc: that last time received.
        apart_s: how much further the device's calendar clock has advanced since then than its running clock,
            which stops on some devices while they sleep.
    """

    given_utc: str
    heard_utc: str
    apart_s: float = 0.0


LateState = Literal["waiting", "taken", "not taken", "replaced"]


class LateAnswer(msgspec.Struct, frozen=True):
    """An answer that arrived after closing but was given in time by the device's clock.

    Attributes:
        answer: as it was sent.
        claim: when it was given, by the device.
        came_utc: when the server received it.
        state: 'waiting' for the instructor, 'taken' (accepted), 'not taken', or 'replaced' by a later one.
        decided_utc: when the instructor decided; '' before that.
        at: of the record.
    """

    answer: Answer
    claim: ClaimedTime
    came_utc: str = ""
    state: LateState = "waiting"
    decided_utc: str = ""
    at: int = 0


class Seat(msgspec.Struct, frozen=True):
    """The student whose browser holds a secret, and in which records.

    Attributes:
        records: id of the records.
        sitting: the one asked for; None if there is none with that id.
        place: of the browser in it; None if it has none.
        in_bin: whether the sitting is in the bin and can be brought back.
    """

    records: str
    sitting: Sitting | None
    place: Place | None
    in_bin: bool = False


class Correction(msgspec.Struct, frozen=True):
    """A change by the instructor: of an answer as it was read, or of the marks given for it.

    Attributes:
        sitting: id.
        student: id; '' for a change for everybody (a question struck out).
        key: of `Asked`.
        by: who made it, as the instructor signs.
        at_utc: when.
        why: in words.
        field: 'chosen', 'value', 'points' or 'struck'.
        before: the old value, in words.
        after: the new value, in words: an option's letter, a number, points, 'struck' or 'counts'.
    """

    sitting: str
    student: str
    key: str
    by: str
    at_utc: str
    why: str
    field: Literal["chosen", "value", "points", "struck"]
    before: str
    after: str


class Marked(msgspec.Struct, frozen=True):
    """An answer with its marks, as statistics, diagnosis and readiness read it.

    Attributes:
        answer: with corrections applied.
        item: the question.
        points: 1 for right, 0 for wrong or blank, or as corrected.
        idea: id of the wrong idea that the answer fits; '' for none or for a right answer.
        struck: whether the question does not count in this sitting.
        corrected: whether anything was changed.
    """

    answer: Answer
    item: Item
    points: float
    idea: str = ""
    struck: bool = False
    corrected: bool = False
