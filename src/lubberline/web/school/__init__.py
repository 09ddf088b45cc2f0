"""The School page: where the records lie, and what may be done with them."""
