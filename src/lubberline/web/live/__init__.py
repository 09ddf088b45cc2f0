"""The bench before a class: one bench, one driver, many viewers, over a WebSocket. See `docs/live.md`."""
