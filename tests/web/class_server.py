"""A server with a class in it, for tests: in this process, at a port of its own, on records in a file."""

from __future__ import annotations

import socket
import threading
import time
from pathlib import Path

import uvicorn

from lubberline.classroom import teaching
from lubberline.classroom.lesson_asked import worked
from lubberline.classroom.lessons import read_lesson
from lubberline.classroom.records import Sitting
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from lubberline.web.live.line import SERVER_OPTIONS
from lubberline.web.serve import free_socket
from lubberline.web.sides import Door

LESSON = Path(__file__).with_name("class_lesson.md")


def begun(school: School, title: str = "Spring") -> Sitting:
    """A sitting of the short lesson, at which the class joins."""
    lesson = read_lesson(LESSON)
    group = school.add_group(title)
    asked = worked(lesson).asked
    sitting = school.add_sitting(group.id, "lesson", lesson.title, asked, source=lesson.text)
    return school.move_sitting(sitting.id, step=teaching.JOINING, phase=teaching.CLOSED)


class ClassServer:
    """The application on a port, which can be stopped and started again at the same address."""

    def __init__(self, address: str, door: Door | None = None) -> None:
        self.school = open_school(address)
        self.door = door
        self.port = 0
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        bound = self._bound()
        self.port = bound.getsockname()[1]
        app = create_app(school=self.school, door=self.door)
        config = uvicorn.Config(
            app, log_level="error", timeout_graceful_shutdown=1, lifespan="off", **SERVER_OPTIONS
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [bound]}, daemon=True)
        self._thread.start()

    def _bound(self) -> socket.socket:
        for _ in range(100):
            bound = free_socket(self.port)
            if self.port in (0, bound.getsockname()[1]):
                return bound
            bound.close()
            time.sleep(0.1)
        raise AssertionError(f"port {self.port} did not come free")

    def stop(self) -> None:
        self._server.should_exit = True
        self._thread.join(10)

    def end(self) -> None:
        self.stop()
        self.school.close()
