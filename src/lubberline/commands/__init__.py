"""Commands of the command line, one module each: `add` adds the options, `run` runs the command."""
