"""Diagnosis: who believes what, from the answers; and which questions would tell most."""
