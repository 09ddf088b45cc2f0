"""Scenes for the bench, one TOML file each; see `docs/developers/live.md`."""
