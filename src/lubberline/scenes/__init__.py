"""Scenes for the bench, one TOML file each; see `docs/live.md`."""
