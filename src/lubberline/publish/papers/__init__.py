"""Papers: their sheets, their keys, and packages for other systems."""
