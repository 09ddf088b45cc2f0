"""Commands of the command line, one module each: what each reads is declared, `run` runs it."""
