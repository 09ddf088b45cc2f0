"""What starts, builds, checks, locks and packs the program; nothing here is in the wheel."""
