"""One folder an instrument: its parameters, its state, its step, what it shows and how it fails."""
