"""The Flights page: a flight flown as it is asked for, with its drawings, and the answers for its script."""
