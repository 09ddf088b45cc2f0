"""The steps by which a school's tables came to be what they are."""
