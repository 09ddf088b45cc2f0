"""The bench: an instrument flown live, watched by many pages and controlled by one, over WebSockets."""
