"""The Flights page: a flight flown on request, with its drawings, and the data for its script."""
