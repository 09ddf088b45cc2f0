"""Answers one after the other, and says each on standard output once it is taken."""

import sys

from lubberline.classroom.records import Answer
from lubberline.store.school import open_school


def main(address: str, sitting: str, student: str, first: int) -> None:
    school = open_school(address)
    for number in range(first, first + 100_000):
        school.answers.record(Answer(sitting, student, "A1", number % 4, sent=f"n{number}"))
        print(number, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], sys.argv[3], int(sys.argv[4]))
