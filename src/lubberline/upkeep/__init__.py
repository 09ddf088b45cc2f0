"""The aircraft: from the checks that pilots log, what is only the Earth and what is the instrument."""
