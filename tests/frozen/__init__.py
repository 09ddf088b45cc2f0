"""Records and numbers of an earlier day, which the program of today has to find again."""
