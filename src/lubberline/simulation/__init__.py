"""Flies the instruments of a panel along a motion and accounts for every degree of error."""

CAUTIONS = (
    "For teaching only: not for navigation, and not for deciding whether an aircraft is airworthy.",
    "The aircraft's own handbook, local regulations, a licensed maintenance engineer and the instructor "
    "in command decide.",
)
