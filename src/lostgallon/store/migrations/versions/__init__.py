"""One file per released step; a released step is never edited."""
