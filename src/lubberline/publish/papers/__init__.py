"""Papers: their sheets, their keys, and the packages that other systems read."""
