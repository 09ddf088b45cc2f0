"""Pages for the browser on this machine; the only room that knows HTTP."""
