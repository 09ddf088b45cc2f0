"""Documents for printing: flights, logs, plans, lessons and results."""
