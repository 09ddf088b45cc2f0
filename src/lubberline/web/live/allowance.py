"""How many messages a viewer may send: a steady rate with some room for a burst."""

from __future__ import annotations

RATE_HZ = 60.0
BURST = 120.0
# After so many messages beyond the allowance the line is cut.
PATIENCE = 3000


class Allowance:
    """What is left of a viewer's messages.

    Attributes:
        beyond: messages beyond the allowance so far.
    """

    def __init__(self, now_s: float) -> None:
        self.beyond = 0
        self._left = BURST
        self._at_s = now_s
        self._told = False

    def take(self, now_s: float) -> bool:
        """Whether one more message is within it."""
        self._left = min(BURST, self._left + (now_s - self._at_s) * RATE_HZ)
        self._at_s = now_s
        if self._left < 1.0:
            self.beyond += 1
            return False
        self._left -= 1.0
        if self._left > 0.5 * BURST:
            self._told = False
        return True

    def tell_once(self) -> bool:
        """Whether the viewer is still to be told; once until the flood has ebbed."""
        told, self._told = self._told, True
        return not told

    @property
    def is_spent(self) -> bool:
        """Whether patience is at an end."""
        return self.beyond > PATIENCE
