"""One folder per instrument: its parameters, state, step, readings and faults."""
