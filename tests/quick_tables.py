"""New records for tests: a process takes the steps to their tables once, then repeats them word for word."""

from collections.abc import Iterator

import pytest
from sqlalchemy import Connection, event

from lubberline.store import migrations


@pytest.fixture(scope="session", autouse=True)
def quick_tables() -> Iterator[None]:
    """An empty database gets its tables at a tenth of the time; one that has some takes its steps as ever."""
    take_steps = migrations._take_steps
    said: dict[str, list[tuple[str, object]]] = {}

    def repeated(connection: Connection, to: str) -> None:
        if to != "head" or migrations.stands_at(connection) is not None:
            take_steps(connection, to)
        elif connection.dialect.name in said:
            for statement, values in said[connection.dialect.name]:
                connection.exec_driver_sql(statement, values)
        else:
            heard: list[tuple[str, object]] = []

            def hear(_one: object, _cursor: object, statement: str, values: object, *_more: object) -> None:
                heard.append((statement, values))

            event.listen(connection, "before_cursor_execute", hear)
            take_steps(connection, to)
            event.remove(connection, "before_cursor_execute", hear)
            said[connection.dialect.name] = heard

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(migrations, "_take_steps", repeated)
        yield
