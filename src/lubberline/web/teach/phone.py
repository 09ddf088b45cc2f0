"""The students' side of a live lesson: the page on the phone, and saving its answers.

An answer is acknowledged once saved, and repeating a sending has no effect; so a page may
send as often as it likes. Answers that arrive together are saved in one commit, as each waits for the disk.
"""

import asyncio
import threading
from collections import deque
from concurrent.futures import Future
from typing import NamedTuple

import msgspec
from anyio import to_thread

from lubberline.classroom.lessons.order import orders_of, own_index
from lubberline.classroom.records import NOT_CHOSEN, Answer, ClaimedTime, LateAnswer, Place, Sitting
from lubberline.web.kit import (
    InputError,
    Request,
    Response,
    Route,
    get,
    go_to,
    page,
    records,
    required,
    shared,
)
from lubberline.web.records import Opening
from lubberline.web.sendings import (
    Sending,
    acknowledged,
    answer_of,
    held,
    read_sending,
    refused,
    seated,
    whose,
)
from lubberline.web.sittings.join import digest_of
from lubberline.web.teach.views import stamped, student_view

NOT_HERE = ("no-sitting", "no-place")
GREATEST_TOGETHER = 100
# The thread ends when idle; the next answer starts another.
IDLE_S = 30.0


class _Waiting(NamedTuple):
    answer: Answer
    claim: ClaimedTime | None
    done: Future[Answer | LateAnswer]


class AnswerQueue:
    """The queue of answers to be saved in the records of one school.

    One thread saves all waiting answers in one transaction and only then acknowledges them;
    meanwhile the next ones collect.
    """

    def __init__(self, records: Opening) -> None:
        self._records = records
        self._waiting: deque[_Waiting] = deque()
        self._wake = threading.Condition()
        self._thread: threading.Thread | None = None

    async def keep(self, answer: Answer, claim: ClaimedTime | None = None) -> Answer | LateAnswer:
        """Returns the answer as saved, once it is on the disk, or a late answer waiting for a decision.

        Raises:
            InputError: it is no longer accepted.
        """
        return await asyncio.wrap_future(self.put(answer, claim))

    def put(self, answer: Answer, claim: ClaimedTime | None = None) -> Future[Answer | LateAnswer]:
        """A future for the saved answer."""
        done: Future[Answer | LateAnswer] = Future()
        with self._wake:
            self._waiting.append(_Waiting(answer, claim, done))
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, daemon=True, name="answer queue")
                self._thread.start()
            self._wake.notify()
        return done

    def _work(self) -> None:
        while True:
            with self._wake:
                if not self._waiting and not self._wake.wait_for(lambda: self._waiting, IDLE_S):
                    self._thread = None
                    return
                count = min(len(self._waiting), GREATEST_TOGETHER)
                together = [self._waiting.popleft() for _ in range(count)]
            self._keep(together)

    def _keep(self, together: list[_Waiting]) -> None:
        try:
            kept = self._records().answers.receive_all(
                [one.answer for one in together], [one.claim for one in together]
            )
        except Exception as error:
            # None of them was saved: each browser is told and sends again.
            for one in together:
                if one.done.set_running_or_notify_cancel():
                    one.done.set_exception(error)
            return
        for one, found in zip(together, kept, strict=True):
            if not one.done.set_running_or_notify_cancel():
                continue
            if isinstance(found, InputError):
                one.done.set_exception(found)
            else:
                one.done.set_result(found)


# The page


def _view(request: Request) -> tuple[bytes, dict[str, str]]:
    """What a student's page shows, and for whom it sends.

    Raises:
        InputError: with a code: no such lesson, or no place in it.
    """
    school = records(request)
    seat = school.sittings.seat(request.path_params["sitting"], digest_of(request))
    sitting, place = held(seat, "lesson")
    return student_view(school, sitting, place.student), whose(seat.records, sitting.id, place.student)


def show(request: Request) -> Response:
    """GET /class/SITTING: the page on the phone; a student without a place is asked to join."""
    try:
        view, by = _view(request)
    except InputError as error:
        if error.code not in NOT_HERE:
            raise
        return go_to("/join")
    return page(request, "teach/phone.html", view=msgspec.json.decode(view), whose=by)


def state(request: Request) -> Response:
    """GET /class/SITTING/state: the view as JSON, for pages without a socket."""
    try:
        view, _ = _view(request)
    except InputError as error:
        return refused(None, error)
    return Response(stamped(view), media_type="application/json")


def _answer(sitting: Sitting, place: Place, sending: Sending) -> Answer:
    """The answer to keep.

    Raises:
        InputError: a question not in this lesson, an option that does not exist, or not a number.
    """
    asked = required(
        next((one for one in sitting.asked if one.key == sending.key), None),
        InputError("question", "not in this lesson", "answer one of those shown"),
    )
    order = orders_of(sitting).get(asked.key, ())
    if sending.place != NOT_CHOSEN:
        sending = msgspec.structs.replace(sending, chosen=own_index(order, sending.place))
    given = answer_of(sending, asked, sitting, place.student)
    if given.blank:
        raise InputError(
            "answer", "nothing was chosen or typed", "choose an option, or enter a number such as 274 or 3.5"
        )
    if given.value is not None and asked.item.circle:
        given = msgspec.structs.replace(given, value=given.value % 360.0)
    return given


async def take_answer(request: Request) -> Response:
    """POST /class/SITTING/answer: saves an answer and acknowledges it once it is on the disk.

    It blocks no thread while it waits: a whole class answers at once and is saved together.
    """
    id, digest = request.path_params["sitting"], digest_of(request)
    sending = await read_sending(request)
    seat = await to_thread.run_sync(lambda: records(request).sittings.seat(id, digest))
    try:
        answer = _answer(*seated(seat, sending, id, "lesson"), sending)
        kept = await shared(request).answer_queue.keep(answer, sending.given)
    except InputError as error:
        return refused(sending, error)
    if isinstance(kept, LateAnswer):
        return acknowledged(sending, "late", {"key": answer.key})
    # Not the option's index: the page knows its place, and the key may be at the same index all lesson long.
    return acknowledged(sending, "kept", {"key": kept.key, "value": kept.value})


ROUTES = [
    get("/class/{sitting}", show),
    get("/class/{sitting}/state", state),
    Route("/class/{sitting}/answer", take_answer, methods=["POST"]),
]
