"""One visit from start to finish, a file per command; with fleet, the only thing the edges call."""
