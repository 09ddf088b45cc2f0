"""Questions whose keys are computed and whose wrong options are what a named wrong idea would compute."""
