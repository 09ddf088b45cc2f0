"""The Aircraft pages: the fleet, one aircraft's log and verdict, its swing and plans, and the log's form."""
