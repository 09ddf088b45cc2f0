"""Who gets which form of a paper: those who come one after the other, as neighbours do, get other ones."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from lubberline.classroom.records import Place, Sitting


def forms_of(sitting: Sitting) -> tuple[str, ...]:
    """The letters of a sitting's forms in order; none where everybody is asked the same."""
    return tuple(dict.fromkeys(asked.form for asked in sitting.asked if asked.form))


def next_form(forms: Sequence[str], dealt: Sequence[str], last: str = "") -> str:
    """The form for the next who comes: never that of the last one, and of the others the rarest so far.

    Args:
        forms: letters; none gives ''.
        dealt: what those before were given.
        last: what the last of them was given.
    """
    if not forms:
        return ""
    others = [form for form in forms if form != last] or list(forms)
    counts = Counter(dealt)
    return min(others, key=lambda form: (counts[form], forms.index(form)))


def form_for_next(sitting: Sitting, places: Sequence[Place], last: str = "") -> str:
    """The form for the next who comes into a sitting with these places."""
    dealt = [place.form for place in places]
    return next_form(forms_of(sitting), dealt, last or (dealt[-1] if dealt else ""))
