"""Answers on their way to the records: those that come together are kept together.

A commit waits for the disk. One thread takes all answers that wait, keeps them in one transaction, and only
then is any of them acknowledged; while it does so the next ones gather.
"""

from __future__ import annotations

import asyncio
import threading
from collections import deque
from concurrent.futures import Future
from typing import NamedTuple

from lubberline.classroom.records import Answer, ClaimedTime, LateAnswer
from lubberline.errors import InputError
from lubberline.web.records import Opening

GREATEST_TOGETHER = 100
# A thread without work ends; the next answer starts another.
IDLE_S = 30.0


class _Waiting(NamedTuple):
    answer: Answer
    claim: ClaimedTime | None
    done: Future[Answer | LateAnswer]


class AnswerQueue:
    """The answers that wait to be kept in the records of one school."""

    def __init__(self, records: Opening) -> None:
        self._records = records
        self._waiting: deque[_Waiting] = deque()
        self._wake = threading.Condition()
        self._thread: threading.Thread | None = None

    async def keep(self, answer: Answer, claim: ClaimedTime | None = None) -> Answer | LateAnswer:
        """Gives the answer as it was kept, once it is on the disk; one that came late as it waits.

        Raises:
            InputError: it may not be taken any more.
        """
        return await asyncio.wrap_future(self.put(answer, claim))

    def put(self, answer: Answer, claim: ClaimedTime | None = None) -> Future[Answer | LateAnswer]:
        """The answer's way to the records, as something to wait for."""
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
            kept = self._records().record_each(
                [one.answer for one in together], [one.claim for one in together]
            )
        except Exception as error:
            # Nothing of them is kept: each browser is told so and sends again.
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
