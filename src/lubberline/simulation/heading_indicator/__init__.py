"""The heading indicator along a flight and on the bench: settings, chance, ledger."""
